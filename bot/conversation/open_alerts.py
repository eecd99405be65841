"""What is open: the list a therapist or one of her colleagues asks for, and what was kept for a visit."""

from bot.conversation import copy
from bot.conversation.effects import CloseAlert, Effect, Turn, say
from bot.conversation.speech import Button, Say
from bot.conversation.staff_view import AlertView, StaffView, alert_rows, alert_values
from bot.domain.alerts import Outcome
from bot.domain.levels import Level

MOST_BUTTONS = 8


def listed(view: StaffView) -> Turn:
    """Every open alert, most urgent first, with a button each; what is for the next review apart."""
    shown = sorted(view.open, key=lambda one: (one.alert.level.rank, one.alert.raised_at))
    pushed = [one for one in shown if one.alert.level is not Level.NEXT_REVIEW]
    kept = [one for one in shown if one.alert.level is Level.NEXT_REVIEW]
    turn = Turn()
    if pushed:
        rows = tuple((_button(view, one),) for one in pushed[:MOST_BUTTONS])
        lines = "\n".join(_line(view, one) for one in pushed)
        turn += Turn(says=(Say("alert.open", {"lines": lines[:3500]}, rows),))
    if kept:
        lines = "\n".join(dict.fromkeys(_line(view, one) for one in kept))
        turn += say("alert.open.review", count=len(kept), lines=lines[:3500])
    return turn if turn.says else say("alert.open.none")


def _line(view: StaffView, one: AlertView) -> str:
    values = alert_values(view, one.alert, one.client)
    state = "alert.state.seen" if one.alert.seen_at else "alert.state.unseen"
    return copy.text(
        view.language, "alert.open.line", {**values, "state": copy.text(view.language, state, {})}
    )


def _button(view: StaffView, one: AlertView) -> Button:
    values = {"client": view.label(one.client), "when": view.when(one.alert.raised_at)}
    return Button("alert.open.button", f"show:{one.alert.id.hex}", values)


def show(view: StaffView, one: AlertView) -> Turn:
    """One alert of the list, with its buttons."""
    key = "alert.morning" if one.alert.seen_at else "alert.new"
    return Turn(says=(Say(key, alert_values(view, one.alert, one.client), alert_rows(one.alert)),))


def reviewed(view: StaffView, code: str) -> Turn:
    """What was kept for a client's next visit has been gone through: closed, each with that outcome."""
    wanted = code.strip().casefold()
    line = next((line for line in view.clients if line.client.code.casefold() == wanted), None)
    if line is None:
        return say("staff.no_client", code=code or "?")
    kept = [
        one for one in view.open if one.client.id == line.client.id and one.alert.level is Level.NEXT_REVIEW
    ]
    client = view.label(line.client)
    if not kept:
        return say("alert.reviewed.none", client=client)
    effects: tuple[Effect, ...] = tuple(CloseAlert(one.alert.id, Outcome.REVIEWED, "") for one in kept)
    return Turn(effects) + say("alert.reviewed", client=client, count=len(kept))
