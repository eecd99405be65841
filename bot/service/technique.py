"""Her own answer about her sets, asked of her when everything else speaks for the next step."""

import datetime as dt

from bot.conversation.incoming import Incoming, Press
from bot.conversation.speech import Button, Say
from bot.conversation.view import ClientView, contact_values
from bot.domain.contacts import zone_of
from bot.domain.people import Chat, Client, Clinic, Stage
from bot.domain.prescription import in_force, prescribed_sets
from bot.domain.progress import Technique
from bot.service import post, prospects, window
from bot.service.office import Office
from bot.service.programme import books_of
from bot.store import diary
from bot.store.base import Tx

PREFIX = "tech"


def is_answer(incoming: Incoming) -> bool:
    """Whether an update is an answer to the question."""
    return isinstance(incoming.body, Press) and incoming.body.data.startswith(f"{PREFIX}:")


def answered(tx: Tx, chat: Chat, client: Client, view: ClientView, incoming: Incoming, key: str) -> None:
    """Keep her answer for the version it is about; a press that is none, or too old, changes nothing."""
    press = incoming.body
    if not isinstance(press, Press):
        return
    _, _, given = press.data.partition(":")
    answer, _, version = given.partition(":")
    held = view.in_force
    if answer not in list(Technique) or held is None or version != f"{held.version}":
        post.put_say(tx, chat, Say("press.old"), f"re:{key}", view.now)
        return
    told = diary.SymptomReport(
        view.today, prospects.TECHNIQUE, prospects.VALUES[Technique(answer)], view.said_at
    )
    kept_as = f"technique-{version}-{view.today:%Y%m%d}"
    diary.report_symptom(tx, client.id, kept_as, told, view.now)
    if press.message_id is not None:
        post.take_buttons(tx, chat, press.message_id, view.now)
    say = Say("technique.thanks")
    if answer == Technique.NOT_ALL.value:
        say = Say("technique.not_all", contact_values(view))
    post.put_say(tx, chat, say, f"re:{key}", view.now)


def ask_if_due(tx: Tx, office: Office, chat: Chat, client: Client, clinic: Clinic, view: ClientView) -> None:
    """Ask her once a day's sets are all done, and only when her own answer is all that is wanting.

    It follows a report of hers, so it is an answer and no message she did not ask for; a version is asked
    about once in so long as an answer holds.
    """
    criteria = office.book.criteria
    held = in_force(view.versions, view.today)
    if held is None or client.stage is not Stage.ACTIVE:
        return
    on_version = (view.today - held.prescription.starts_on).days
    if on_version < criteria.window_days or view.held:
        return
    due = prescribed_sets(view.versions, view.today)
    if not due or books_of(tx, [client.id], view.today)[client.id].totals.get(view.today, 0) < due:
        return
    found = window.weeks(
        tx,
        [client.therapist_id],
        zone_of(clinic.card),
        clinic.labels,
        view.now,
        office.book,
        only=client.id,
    )
    judgement = found[0].week.judgement if found else None
    if judgement is None or not judgement.asks_her:
        return
    turns = on_version // (int(criteria.technique_weeks.value) * 7)
    buttons = tuple(
        Button(
            f"technique.button.{answer.value.replace('-', '_')}", f"{PREFIX}:{answer.value}:{held.version}"
        )
        for answer in Technique
    )
    say = Say("technique.ask", rows=(buttons,))
    post.put_say(
        tx,
        chat,
        say,
        f"technique:{client.id.hex}:{held.version}:{turns}",
        view.now,
        expires_at=view.now + dt.timedelta(days=1),
    )
