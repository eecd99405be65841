"""The weekly digest: one pass over the window's rows, drawn outside any transaction, put once."""

import datetime as dt
from dataclasses import dataclass

from bot.conversation import caseload
from bot.conversation.caseload import Rows
from bot.conversation.speech import Say, to_json
from bot.domain import attention, local_time
from bot.domain.contacts import zone_of
from bot.domain.delivery import Kind
from bot.domain.people import Chat, Clinic, Staff
from bot.reports import digest as report
from bot.reports import picture
from bot.service import window
from bot.service.office import Office
from bot.store import chats, outbox, people
from bot.store.base import Tx
from bot.store.outbox import Letter

WEEK = 7


@dataclass(frozen=True, slots=True)
class Drawn:
    """A finished digest."""

    text: str
    png: bytes
    caption: str
    rows: Rows = ()


def next_due(clinic: Clinic, after: dt.datetime) -> dt.datetime:
    """The clinic's next digest instant after an instant."""
    zone = zone_of(clinic.card)
    today = local_time.local_date(after, zone)
    ahead = (clinic.digest_day - today.weekday()) % WEEK
    for days in (ahead, ahead + WEEK):
        at = local_time.instant(today + dt.timedelta(days=days), clinic.digest_at, zone)
        if at > after:
            return at
    raise AssertionError("a week has a digest instant")


def gather(tx: Tx, staff: Staff, clinic: Clinic, now: dt.datetime) -> report.Digest:
    """What one digest shows: the seven whole local days of each client before the instant."""
    zone = zone_of(clinic.card)
    of_clients = window.weeks(tx, [staff.id], zone, clinic.labels, now)
    last_on = local_time.local_date(now, zone) - dt.timedelta(days=1)
    lines = attention.order(tuple(one.week for one in of_clients), now)
    return report.Digest(
        lines=lines,
        first_on=last_on - dt.timedelta(days=WEEK - 1),
        last_on=last_on,
        client_ids={one.week.code: one.client_id for one in of_clients},
    )


def draw(data: report.Digest) -> Drawn:
    """The digest as text and one picture; takes a moment, so never inside a transaction."""
    text = report.digest_text(data)
    named = [
        (code, data.client_ids[code]) for code in report.codes_shown(data, text) if code in data.client_ids
    ]
    rows = caseload.digest_rows(named) if data.lines else ()
    return Drawn(text, picture.digest_picture(data), picture.picture_caption(data), rows)


def run(office: Office) -> int:
    """Send the digests that are due; tells how many were."""
    now = office.clock.now()
    with office.begin() as tx:
        due = people.digests_due(tx, now, 20)
        work = [(staff, at, people.clinic_by_id(tx, staff.clinic_id)) for staff, at in due]
        data = [gather(tx, staff, clinic, at) for staff, at, clinic in work]
    for (staff, at, clinic), digest in zip(work, data, strict=True):
        drawn = draw(digest)
        with office.begin() as tx:
            if not people.move_digest(tx, staff.id, at, next_due(clinic, now)):
                continue
            chat = chats.chat_of_owner(tx, staff.id)
            if chat is not None:
                _put(tx, chat, drawn, f"digest:{staff.id.hex}:{at:%Y%m%d%H%M%S}", now)
    return len(work)


def _put(tx: Tx, chat: Chat, drawn: Drawn, key: str, now: dt.datetime) -> None:
    text = Say("digest.text", {"text": drawn.text}, drawn.rows, kind=Kind.DIGEST, keep_private=True)
    outbox.put(tx, Letter(f"{key}:text", chat.id, chat.owner_id, Kind.DIGEST, to_json(text)), now)
    caption = Say("digest.caption", {"text": drawn.caption}, kind=Kind.DIGEST, silent=True, keep_private=True)
    content = {**to_json(caption), "method": "photo"}
    letter = Letter(f"{key}:picture", chat.id, chat.owner_id, Kind.DIGEST, content, picture=drawn.png)
    outbox.put(tx, letter, now)
