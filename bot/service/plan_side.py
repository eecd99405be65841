"""A client asks about her plan: what changed, what is in it, what is not in it yet and why."""

from bot.conversation import plan_words
from bot.conversation.client import ask_call
from bot.conversation.effects import Rewrite, SawChange, TellTherapist, Turn
from bot.conversation.incoming import Body, Command, Press
from bot.conversation.speech import Say
from bot.conversation.view import ClientView, contact_values, opening_text
from bot.domain import gating
from bot.domain.people import Stage
from bot.service import prescribing
from bot.service.office import Office
from bot.store.base import Tx


def answer(tx: Tx, office: Office, view: ClientView, body: Body) -> Turn | None:
    """A client's turn that is about her plan; None when it is not."""
    if view.client.stage is not Stage.ACTIVE:
        return None
    match body:
        case Command(name="notyet", argument=""):
            return Turn(says=(_not_yet(tx, office, view),))
        case Press(data=data, message_id=message_id) if data.startswith("plan:"):
            return _pressed(view, data, message_id)
        case _:
            return None


def _not_yet(tx: Tx, office: Office, view: ClientView) -> Say:
    file = prescribing.newest(tx, view.client)
    if file is None or not view.versions:
        return Say("plan.none", contact_values(view))
    record = prescribing.record_of(tx, view.client, file)
    decisions = gating.gates(office.book.catalogue, record, view.today, office.book.limits)
    prescribed = {name for version in view.versions[-2:] for name in version.prescription.exercises}
    return plan_words.not_yet(decisions, prescribed, office.book.catalogue, view.client.language)


def _pressed(view: ClientView, data: str, message_id: int | None) -> Turn | None:
    act, _, number = data.removeprefix("plan:").partition(":")
    version = next((one for one in view.versions if str(one.version) == number), None)
    if version is None:
        return None
    seen = Turn((SawChange(),))
    match act:
        case "show" if message_id is not None:
            shown = plan_words.shown(view, version)
            return seen + Turn((Rewrite(message_id, shown),))
        case "unsure":
            told = TellTherapist(
                Say("staff.change_unsure", {"number": version.version}), "unsure", in_hours=True
            )
            values = {**contact_values(view), "opening": opening_text(view.reader, view.now)}
            return seen + Turn((told,), (Say("plan.unsure", values),))
        case "call":
            return seen + ask_call(view)
        case _:
            return None
