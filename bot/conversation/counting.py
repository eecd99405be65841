"""Booking sets: by a button, by a number, and what is asked back when a number may mean two things."""

import datetime as dt

from bot.conversation.effects import BookSets, Effect, Postpone, TakeButtons, Turn, Wait
from bot.conversation.incoming import Press
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import ClientView, clock_text, day_name
from bot.domain import local_time
from bot.domain.day_book import Meaning, SetReport
from bot.domain.reading import Meaning as ReadMeaning
from bot.domain.reading import Sets

ONE_HOUR = dt.timedelta(hours=1)
MOST_LATERS = 4  # a day; common practice, no source
MOST_NUMBER_BUTTONS = 8
OLDEST_PRESS = dt.timedelta(days=8)


def day_text(on: dt.date) -> str:
    """A day as button data hold it."""
    return f"{on:%Y%m%d}"


def read_day(text: str, today: dt.date) -> dt.date | None:
    """The day of a button's data; None for none, a future one, or one too long ago to be a report."""
    try:
        on = dt.datetime.strptime(text, "%Y%m%d").replace(tzinfo=dt.UTC).date()
    except ValueError:
        return None
    return on if dt.timedelta(0) <= today - on <= OLDEST_PRESS else None


def number_buttons(on: dt.date, sets: int) -> tuple[tuple[Button, ...], ...]:
    """A row of numbers, none to all of the day's sets."""
    top = min(sets, MOST_NUMBER_BUTTONS)
    return (
        tuple(
            Button("count.button", f"total:{day_text(on)}:{number}", {"number": number})
            for number in range(top + 1)
        ),
    )


def booked(view: ClientView, on: dt.date, done: int) -> Say:
    """The confirmation that follows a report."""
    sets = view.sets(on)
    values: Values = {"done": done, "sets": sets, "day": day_name(on, view.today)}
    if not sets:
        return Say("booked.unplanned", values)
    if on != view.today:
        return Say("booked.other_day", values)
    if done > sets:
        return Say("booked.extra", values)
    return Say("booked.full" if done == sets else "booked", values)


def _book(
    view: ClientView,
    on: dt.date,
    meaning: Meaning,
    value: int,
    key: str | None = None,
) -> Turn:
    total = view.done(on) + value if meaning is Meaning.ADDED else value
    report = SetReport(on, meaning, value, view.said_at)
    return Turn((BookSets(report, key), Wait(None)), (booked(view, on, total),))


def count_read(view: ClientView, read: Sets, corrects: bool = False) -> Turn:
    """What a count that was read leads to: booked, confirmed, or asked back; never guessed.

    corrects: she puts an earlier answer right, so a smaller number needs no question.
    """
    on, sets, done = read.on, view.sets(read.on), view.done(read.on)
    if read.meaning is ReadMeaning.UNCLEAR or read.value is None:
        if read.said is not None:
            return Turn((Wait(None),), (_ask_one_or_all(on, read.said),))
        return Turn((Wait(None),), (Say("ask.count", rows=number_buttons(on, max(sets, 1))),))
    if read.meaning is ReadMeaning.ADDED:
        return _book(view, on, Meaning.ADDED, read.value)
    if read.meaning is ReadMeaning.NONE and done and not corrects:
        return Turn(says=(_ask_zero(on, done),))
    if on in view.book.totals and read.value == done:
        values: Values = {"done": done, "sets": sets, "day": day_name(on, view.today)}
        same = "booked.same" if on == view.today else "booked.already"
        return Turn((Wait(None),), (Say(same, values),))
    return _book(view, on, Meaning.NONE if read.value == 0 else Meaning.TOTAL, read.value)


def _ask_one_or_all(on: dt.date, value: int) -> Say:
    values = {"value": value}
    more = Button("ask.button.more", f"more:{day_text(on)}:{value}", values)
    all_of_it = Button("ask.button.all", f"total:{day_text(on)}:{value}", values)
    return Say("ask.one_or_all", values, ((more, all_of_it),))


def _ask_zero(on: dt.date, done: int) -> Say:
    values = {"done": done}
    zero = Button("ask.button.zero", f"total:{day_text(on)}:0")
    keep = Button("ask.button.keep", f"keep:{day_text(on)}", values)
    return Say("ask.zero", values, ((zero, keep),))


def pressed_done(view: ClientView, press: Press, on: dt.date, ordinal: str) -> Turn:
    """*Done* adds one, once for each nudge however often it is pressed."""
    turn = _book(view, on, Meaning.ADDED, 1, f"done:{day_text(on)}:{ordinal}")
    return without_buttons(turn, press)


def pressed_total(view: ClientView, press: Press, on: dt.date, value: int) -> Turn:
    """A number button gives the day's total."""
    meaning = Meaning.NONE if value == 0 else Meaning.TOTAL
    return without_buttons(_book(view, on, meaning, value), press)


def pressed_more(view: ClientView, press: Press, on: dt.date, value: int) -> Turn:
    """*So many more*: one question, so one answer however often it is pressed."""
    key = f"more:{day_text(on)}:{press.message_id or press.press_id}"
    return without_buttons(_book(view, on, Meaning.ADDED, value, key), press)


def pressed_keep(view: ClientView, press: Press, on: dt.date) -> Turn:
    """The booked number stays."""
    values = {"done": view.done(on), "sets": view.sets(on)}
    return without_buttons(Turn((Wait(None),), (Say("kept", values),)), press)


def no_more(view: ClientView, on: dt.date) -> Turn:
    """No more on this day: keeps what was booked."""
    report = SetReport(on, Meaning.CLOSED, 0, view.said_at)
    values = {"done": view.done(on), "sets": view.sets(on)}
    return Turn((BookSets(report, f"closed:{day_text(on)}"), Wait(None)), (Say("closed_day", values),))


def later(view: ClientView) -> Turn:
    """Ask again in an hour, unless that is too often or in her quiet hours."""
    version = view.in_force
    if version is None or view.paused or view.done(view.today) >= view.sets(view.today):
        return Turn(says=(Say("later.none"),))
    plan, until = version.prescription, view.now + ONE_HOUR
    quiet = local_time.quiet_at(until, plan.quiet_from, plan.quiet_to, view.zone)
    if quiet or view.laters >= MOST_LATERS or local_time.local_date(until, view.zone) != view.today:
        return Turn(says=(Say("later.no"),))
    return Turn((Postpone(until),), (Say("later", {"clock": clock_text(until, view.zone)}),))


def without_buttons(turn: Turn, press: Press) -> Turn:
    """A turn that also takes the buttons off the message that was pressed."""
    taken: tuple[Effect, ...] = () if press.message_id is None else (TakeButtons(press.message_id),)
    return Turn(turn.effects + taken, turn.says)
