"""The therapist's way through her caseload: pages, a client's card, and what she decides on it.

Every button carries the client's id; whose client she is, is checked anew on every press.
"""

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence

from bot.conversation import card, card_diary, noting
from bot.conversation.card import CardView, date
from bot.conversation.speech import Button, Say
from bot.domain.caseload_filters import Filter
from bot.domain.ladder import Step
from bot.domain.people import Stage
from bot.domain.visits import Attendance, ReviewOutcome

PREFIX = "cl"
IN_A_ROW = 4
MOST_BUTTONS = 8
NEXT_WEEKS = (2, 4, 6, 8)
SHORTEST_REASON = 4

Rows = tuple[tuple[Button, ...], ...]


def data(verb: str, client_id: uuid.UUID, argument: str = "") -> str:
    """What a button of ours carries: verb, argument, client."""
    return ":".join((PREFIX, verb, *([argument] if argument else []), client_id.hex))


def _button(name: str, verb: str, view: CardView, argument: str = "") -> Button:
    return Button(f"caseload.{name}", data(verb, view.record.client.id, argument))


def _rows(buttons: Sequence[Button]) -> Rows:
    return tuple(tuple(buttons[place : place + IN_A_ROW]) for place in range(0, len(buttons), IN_A_ROW))


def client_rows(clients: Sequence[tuple[str, uuid.UUID]]) -> Rows:
    """A button for each client, by how she is shown."""
    return _rows(
        [
            Button("caseload.page.button.client", data("card", client_id), {"client": label})
            for label, client_id in clients
        ]
    )


def page(
    text: str,
    clients: Sequence[tuple[str, uuid.UUID]],
    wanted: Filter,
    number: int,
    *,
    more: bool,
    counts: Mapping[Filter, int],
) -> Say:
    """A page of the caseload or a part of it, a button for each client on it, and the other parts."""
    turn = []
    if number:
        turn.append(Button("caseload.page.button.back", _page_data(wanted, number - 1)))
    if more:
        turn.append(Button("caseload.page.button.next", _page_data(wanted, number + 1)))
    parts = [
        Button(f"caseload.page.button.{each.value}", _page_data(each, 0), {"count": counts[each]})
        for each in Filter
        if counts[each] and each is not wanted
    ]
    rows = client_rows(clients) + ((tuple(turn),) if turn else ()) + _rows(parts)
    return Say("caseload.page", {"text": text}, rows, keep_private=True)


def _page_data(wanted: Filter, number: int) -> str:
    return f"{PREFIX}:list:{wanted.value}.{number}"


def digest_rows(clients: Sequence[tuple[str, uuid.UUID]]) -> Rows:
    """The buttons under a digest: the first clients it names, and the whole caseload behind them."""
    return (*client_rows(clients[:MOST_BUTTONS]), (Button("caseload.digest.button.all", f"{PREFIX}:all"),))


def main(view: CardView) -> Say:
    """Her card."""
    return Say("caseload.card", {"text": card.card(view)}, _card_rows(view), keep_private=True)


def _card_rows(view: CardView) -> Rows:
    first = [
        _button("card.button.diary", "diary", view, "0"),
        _button("card.button.words", "words", view),
        _button("card.button.alerts", "alerts", view),
    ]
    second = [_button("card.button.step", "step", view), _button("card.button.visit", "visit", view)]
    if view.week is not None:
        idle = view.week.stopped_by is not None
        second.append(
            _button("card.button.resume", "resume", view)
            if idle
            else _button("card.button.pause", "pause", view)
        )
    if view.record.client.stage is Stage.ACTIVE:
        second.append(Button("caseload.card.button.note", noting.data("new", view.record.client.id)))
    if view.week is not None and view.week.calls_asked_at:
        second.append(_button("card.button.called", "called", view))
    return (tuple(first), *_rows(second))


def _behind(view: CardView, text: str, buttons: Sequence[Button] = ()) -> Say:
    """A screen behind the card, in its place."""
    back = _button("card.button.card", "main", view)
    return Say("caseload.card", {"text": text}, ((*buttons, back),), keep_private=True)


def diary(view: CardView, number: int) -> Say:
    """A page of her diary."""
    pages = card_diary.diary_pages(view)
    number = max(0, min(number, pages - 1))
    buttons = []
    if number + 1 < pages:
        buttons.append(_button("card.button.earlier", "diary", view, f"{number + 1}"))
    if number:
        buttons.append(_button("card.button.later", "diary", view, f"{number - 1}"))
    return _behind(view, card_diary.diary(view, number), buttons)


def words(view: CardView) -> Say:
    """Her own words."""
    return _behind(view, card.words(view))


def alerts(view: CardView) -> Say:
    """Her alerts."""
    return _behind(view, card.alerts(view))


def step(view: CardView, text: str, offered: Step | None) -> Say:
    """What the figures say, and the step that may be taken with one tap."""
    version = view.record.current
    buttons = [_button("step.button.change", "change", view), _button("step.button.leave", "leave", view)]
    if offered is not None and version is not None:
        buttons.insert(0, _button("step.button.put", "put", view, f"{version.number}.{offered.name}"))
    rows = (tuple(buttons),)
    return Say(
        "caseload.step", {"client": view.label, "cover": card.cover(), "text": text}, rows, keep_private=True
    )


def confirm(view: CardView, named: str, starts_on: dt.date, therapist: str, text: str) -> Say:
    """The one question before a version is signed."""
    values = {
        "client": view.label,
        "starts": date(starts_on),
        "therapist": therapist,
        "cover": card.cover(),
        "text": text,
    }
    rows = (
        (
            _button("confirm.button.yes", "sign", view, named),
            _button("confirm.button.no", "leave", view),
        ),
    )
    return Say("caseload.confirm", values, rows, keep_private=True)


def refused(view: CardView, faults: Sequence[str]) -> Say:
    """Why a version was not put in force."""
    values = {"client": view.label, "cover": card.cover(), "text": "\n".join(faults)}
    return Say("caseload.refused", values, keep_private=True)


def visit(view: CardView, on: dt.date) -> Say:
    """Whether she came."""
    buttons = [
        Button(
            f"caseload.visit.button.{attendance.value.replace('-', '_')}",
            data("came", view.record.client.id, attendance.value),
        )
        for attendance in Attendance
    ]
    return Say("caseload.visit", {"client": view.label, "day": date(on)}, (tuple(buttons),))


def visit_kept(view: CardView, attendance: Attendance, on: dt.date) -> Say:
    """It is noted; after a visit that took place the findings and the review follow."""
    values = {
        "client": view.label,
        "attendance": card.say(f"attendance.{attendance.value}"),
        "day": date(on),
    }
    if attendance is not Attendance.ATTENDED:
        return Say("caseload.visit.kept", values)
    return Say("caseload.visit.after", values, _review_rows(view))


def visit_read(view: CardView, told: Sequence[str]) -> Say:
    """What was read from the line of findings."""
    if not told:
        return Say("caseload.visit.found", {"client": view.label}, _review_rows(view))
    values = {"client": view.label, "cover": card.cover(), "text": "\n".join(told)}
    return Say("caseload.visit.read", values, _review_rows(view), keep_private=True)


def _review_rows(view: CardView) -> Rows:
    buttons = [
        Button(
            f"caseload.review.button.{outcome.value}",
            data("rev", view.record.client.id, outcome.value),
        )
        for outcome in ReviewOutcome
    ]
    return tuple(buttons[:3]), tuple(buttons[3:])


def ask_reason(view: CardView, outcome: ReviewOutcome) -> Say:
    """A line to go with a referral or the end of a programme."""
    return Say(f"caseload.review.ask.{outcome.value}", {"client": view.label})


def ask_next(view: CardView, outcome: ReviewOutcome) -> Say:
    """When the next review is."""
    buttons = tuple(
        Button(
            "caseload.review.weeks.button",
            data("next", view.record.client.id, f"{outcome.value}.{weeks}"),
            {"weeks": weeks},
        )
        for weeks in NEXT_WEEKS
    )
    values = {"client": view.label, "outcome": outcome_text(outcome)}
    return Say("caseload.review.when", values, (buttons,))


def review_done(view: CardView, outcome: ReviewOutcome, next_on: dt.date | None) -> Say:
    """The review is kept."""
    values: dict[str, str | int] = {"client": view.label, "outcome": outcome_text(outcome)}
    if next_on is None:
        return Say("caseload.review.ended", values)
    return Say("caseload.review.done", {**values, "day": date(next_on)})


def outcome_text(outcome: ReviewOutcome) -> str:
    """What a review ended in, in words."""
    return card.say(f"outcome.{outcome.value}")
