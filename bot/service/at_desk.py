"""What prescribing turns share: who is at work, how she is answered, how a plan is summed up."""

import datetime as dt
import uuid
from dataclasses import dataclass

from bot.conversation import form
from bot.conversation import prescribing_words as words
from bot.conversation.speech import Say, Values
from bot.domain import dose, gating, local_time
from bot.domain.contacts import zone_of
from bot.domain.people import Chat, Clinic, Staff
from bot.rules import prescription_file
from bot.rules.prescription_file import PrescriptionFile
from bot.service import post, rehearsal
from bot.service.enrolling import Enrolled
from bot.service.office import Office
from bot.store import chats
from bot.store.base import Tx

START_OF_LINK = "https://t.me/"


@dataclass(frozen=True, slots=True)
class Desk:
    """Who is at work, on which update: what every step is handed. key: what leads the keys of its answers."""

    tx: Tx
    office: Office
    chat: Chat
    staff: Staff
    clinic: Clinic
    now: dt.datetime
    key: uuid.UUID

    @property
    def today(self) -> dt.date:
        """The clinic's local day: a new client lives where the clinic is until she says otherwise."""
        return local_time.local_date(self.now, zone_of(self.clinic.card))


def say(desk: Desk, *says: Say) -> None:
    """Answer with messages of their own."""
    for place, one in enumerate(says):
        post.put_say(desk.tx, desk.chat, one, f"re:{desk.key.hex}:{place}", desk.now)


def replace(desk: Desk, message_id: int | None, screen: Say) -> None:
    """Answer in place of the message that was pressed; with one of its own where there is none."""
    if message_id is None:
        say(desk, screen)
    else:
        post.rewrite(desk.tx, desk.chat, message_id, screen, f"edit:{desk.key.hex}", desk.now)


def wait(desk: Desk, what: dict[str, str] | None) -> None:
    """Wait for a line of hers, None for nothing."""
    chats.wait(desk.tx, desk.staff.id, what, desk.now)


def clinic_time(desk: Desk, at: dt.datetime) -> str:
    """An instant in the clinic's time, such as "Mon 2 Mar 07:00"."""
    local = local_time.local(at, zone_of(desk.clinic.card))
    return f"{local:%a} {local.day} {local:%b %H:%M}"


def summary_of(file: PrescriptionFile, office: Office) -> tuple[str, ...]:
    """A prescription in words: sets, dose, minutes, the dose its findings propose, gates, notes."""
    book = office.book
    plan, record = prescription_file.prescription(file), prescription_file.record(file)
    proposed = dose.propose(record.findings, plan.starts_on, book.figures)
    decisions = gating.gates(book.catalogue, record, plan.starts_on, book.limits)
    return (
        *words.programme(file.client, plan, book.catalogue),
        *words.dose(dose.dose(plan, book.catalogue, book.figures)),
        *words.proposal(proposed, book.catalogue, book.figures),
        *words.record_notes(record, plan.starts_on),
        *words.gates(decisions, book.catalogue),
    )


def tell_enrolled(desk: Desk, made: Enrolled) -> None:
    """What is in force, the link and the digits to tell her, and the list of what is done in the room."""
    client = made.client
    values: Values = {
        "client": client.label(desk.clinic.labels),
        "number": made.version,
        "day": form.day_text(made.starts_on),
        "code": desk.staff.code,
        "when": clinic_time(desk, desk.now),
        "link": link_of(desk.office, made.invite.code),
        "digits": made.invite.digits,
        "until": clinic_time(desk, made.invite.expires_at),
    }
    done = Say("form.done", values, keep_private=True)
    say(desk, done, rehearsal.screen(desk.tx, client, desk.clinic))


def link_of(office: Office, code: str) -> str:
    """The deep link of an invite, or what to send to the bot while its name is not known."""
    name = office.bot_name
    return f"{START_OF_LINK}{name}?start={code}" if name else f"/start {code}"
