"""Booking sets: by a button, by a number, and what is asked back when a number may mean two things."""

import datetime as dt
from dataclasses import replace

from bot.conversation.effects import BookSets, Effect, Postpone, Rewrite, TakeButtons, Turn, Wait
from bot.conversation.incoming import Press
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import ClientView, clock_text, contact_values, day_name
from bot.domain import local_time
from bot.domain.day_book import Meaning, SetReport, fold
from bot.domain.reading import Meaning as ReadMeaning
from bot.domain.reading import Sets

ONE_HOUR = dt.timedelta(hours=1)
MOST_LATERS = 4  # a day; common practice, no source
MOST_NUMBER_BUTTONS = 8
LATERS = {"15": dt.timedelta(minutes=15), "60": ONE_HOUR, "feed": dt.timedelta(hours=2)}
UNDO_WITHIN = dt.timedelta(hours=24)
MOST_KEY = 58  # with "undo:" before it a key fits into a button's 64 bytes
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
    values: Values = {"done": done, "sets": sets, "day": day_name(on, view.reads_on)}
    if view.held:
        return Say("booked.held", {**contact_values(view), "done": done})
    if not sets:
        return Say("booked.unplanned", values)
    if on != view.reads_on:
        return Say("booked.other_day", values)
    if done > sets:
        return Say("booked.extra", values)
    if not done:
        return Say("booked.none", values)
    return Say("booked.full" if done == sets else "booked", values)


def book(view: ClientView, on: dt.date, meaning: Meaning, value: int, key: str) -> Turn:
    """Keep a report and confirm it with *Undo*; one that was kept before is only confirmed."""
    if any(report.key == key for report in view.reports):
        values: Values = {"done": view.done(on), "sets": view.sets(on), "day": day_name(on, view.today)}
        return Turn(says=(Say("booked.already", values),))
    total = view.done(on) + value if meaning is Meaning.ADDED else value
    report = SetReport(on, meaning, value, view.said_at, key)
    undo = Button("undo.button", f"undo:{key}")
    return Turn((BookSets(report), Wait(None)), (replace(booked(view, on, total), rows=((undo,),)),))


def undo(view: ClientView, press: Press, key: str) -> Turn:
    """Take a report back, within a day of saying it."""
    found = next((report for report in view.reports if report.key == key), None)
    if found is None or any(report.undoes == key for report in view.reports):
        return without_buttons(Turn(says=(Say("press.old"),)), press)
    if view.now - found.said_at > UNDO_WITHIN:
        return without_buttons(Turn(says=(Say("undo.late"),)), press)
    taken_back = _taken_back(view, found)
    done = fold((*view.reports, taken_back)).totals.get(found.on, 0)
    values: Values = {"done": done, "sets": view.sets(found.on), "day": day_name(found.on, view.today)}
    return without_buttons(Turn((BookSets(taken_back),), (Say("undo.done", values),)), press)


def _taken_back(view: ClientView, report: SetReport) -> SetReport:
    return SetReport(report.on, Meaning.UNDONE, 0, view.said_at, f"undo:{report.key}"[:80], report.key)


def take_back_message(view: ClientView, message_id: int) -> tuple[ClientView, Turn]:
    """Take back what an earlier version of a message booked: the view without it, and the effects."""
    gone = {report.undoes for report in view.reports}
    prefix = message_key(view, message_id, "")
    back = tuple(
        _taken_back(view, report)
        for report in view.reports
        if report.key.startswith(prefix) and report.key not in gone
    )
    reports = (*view.reports, *back)
    without = replace(view, reports=reports, book=fold(reports))
    return without, Turn(tuple(BookSets(report) for report in back))


def after(view: ClientView, turn: Turn) -> ClientView:
    """The view once a turn's reports are booked."""
    booked_now = tuple(effect.report for effect in turn.effects if isinstance(effect, BookSets))
    reports = (*view.reports, *booked_now)
    return replace(view, reports=reports, book=fold(reports))


def message_key(view: ClientView, message_id: int, place: int | str) -> str:
    """The key of what a message of hers booked; an edited one books under keys of its own."""
    return f"{view.chat_ref}.{message_id}.{place}"


def count_read(view: ClientView, read: Sets, key: str, corrects: bool = False) -> Turn:
    """What a count that was read leads to: booked under `key`, confirmed, or asked back; never guessed.

    corrects: she puts an earlier answer right, so a smaller number needs no question.
    """
    on, sets, done = read.on, view.sets(read.on), view.done(read.on)
    if read.meaning is ReadMeaning.UNCLEAR or read.value is None:
        day = day_text(on)
        if read.said == 0:
            return _zero_or_keep(view, on, done)
        if read.said is not None:
            wait = Wait({"for": "one_or_all", "day": day, "value": read.said})
            return Turn((wait,), (_ask_one_or_all(on, read.said),))
        return Turn((Wait({"for": "count", "day": day}),), (ask_count(view, on),))
    if read.meaning is ReadMeaning.ADDED:
        return book(view, on, Meaning.ADDED, read.value, key)
    if read.meaning is ReadMeaning.NONE and done and not corrects:
        return _zero_or_keep(view, on, done)
    if on in view.book.totals and read.value == done:
        values: Values = {"done": done, "sets": sets, "day": day_name(on, view.today)}
        same = "booked.same" if on == view.today else "booked.already"
        return Turn((Wait(None),), (Say(same, values),))
    return book(view, on, Meaning.NONE if read.value == 0 else Meaning.TOTAL, read.value, key)


def ask_count(view: ClientView, on: dt.date) -> Say:
    """How many there were on a day, as a row of numbers."""
    rows = number_buttons(on, max(view.sets(on), 1))
    if on == view.today:
        return Say("ask.count", rows=rows)
    return Say("ask.count_other", {"day": day_name(on, view.today)}, rows)


def _ask_one_or_all(on: dt.date, value: int) -> Say:
    values = {"value": value}
    more = Button("ask.button.more", f"more:{day_text(on)}:{value}", values)
    all_of_it = Button("ask.button.all", f"total:{day_text(on)}:{value}", values)
    return Say("ask.one_or_all", values, ((more, all_of_it),))


def _zero_or_keep(view: ClientView, on: dt.date, done: int) -> Turn:
    """Whether what is booked should become none."""
    values: Values = {"done": done, "day": day_name(on, view.today)}
    zero = Button("ask.button.zero", f"total:{day_text(on)}:0")
    keep = Button("ask.button.keep", f"keep:{day_text(on)}", values)
    return Turn((Wait({"for": "zero", "day": day_text(on)}),), (Say("ask.zero", values, ((zero, keep),)),))


def pressed_done(view: ClientView, press: Press, on: dt.date, ordinal: str) -> Turn:
    """*Done* adds one, once for each nudge however often it is pressed."""
    turn = book(view, on, Meaning.ADDED, 1, f"done:{day_text(on)}:{ordinal}")
    return without_buttons(turn, press)


def pressed_total(view: ClientView, press: Press, on: dt.date, value: int) -> Turn:
    """A number button gives the day's total."""
    meaning = Meaning.NONE if value == 0 else Meaning.TOTAL
    key = f"{view.chat_ref}.p{press.press_id}"[:MOST_KEY]
    return without_buttons(book(view, on, meaning, value, key), press)


def pressed_more(view: ClientView, press: Press, on: dt.date, value: int) -> Turn:
    """*So many more*: one question, so one answer however often it is pressed."""
    key = f"more:{day_text(on)}:{press.message_id or press.press_id}"
    return without_buttons(book(view, on, Meaning.ADDED, value, key), press)


def pressed_keep(view: ClientView, press: Press, on: dt.date) -> Turn:
    """The booked number stays."""
    values = {"done": view.done(on), "sets": view.sets(on)}
    return without_buttons(Turn((Wait(None),), (Say("kept", values),)), press)


def no_more(view: ClientView, on: dt.date) -> Turn:
    """No more on this day: keeps what was booked."""
    values: Values = {"done": view.done(on), "sets": view.sets(on)}
    if on in view.book.closed:
        return Turn((Wait(None),), (Say("closed_day", values),))
    stem = f"closed:{day_text(on)}"
    before = sum(report.key.startswith(stem) for report in view.reports)
    key = f"{stem}:{before}" if before else stem  # closed again after it was taken back
    undo_button = Button("undo.button", f"undo:{key}")
    report = SetReport(on, Meaning.CLOSED, 0, view.said_at, key)
    return Turn((BookSets(report), Wait(None)), (Say("closed_day", values, ((undo_button,),)),))


def ask_later(view: ClientView, press: Press, on: dt.date) -> Turn:
    """How much later, in place of the nudge's own buttons; *Done* stays there."""
    day = day_text(on)
    done = tuple(
        Button("nudge.button.done", f"done:{day}:{report}") for report in (_ordinal(press.data),) if report
    )
    waits = [Button(f"later.button.{wait}", f"wait:{day}:{wait}") for wait in ("15", "60", "evening")]
    if view.client.baby_at_home:
        waits.append(Button("later.button.feed", f"wait:{day}:feed"))
    rows = (done, tuple(waits[:2]), tuple(waits[2:])) if done else (tuple(waits[:2]), tuple(waits[2:]))
    say = Say("later.ask", rows=rows)
    return Turn(says=(say,)) if press.message_id is None else Turn((Rewrite(press.message_id, say),))


def _ordinal(data: str) -> str:
    """The nudge a *later* button belongs to, so that *Done* beside it counts as that nudge's."""
    parts = data.split(":")
    return parts[2] if len(parts) > 2 and parts[2].isdecimal() else ""  # noqa: PLR2004 - verb, day, ordinal


def later_at(view: ClientView, wait: str) -> dt.datetime:
    """The instant a choice of *later* means."""
    if wait == "evening" and view.in_force is not None:
        return local_time.instant(view.today, view.in_force.prescription.round_up_at, view.zone)
    return view.now + LATERS.get(wait, ONE_HOUR)


def later(view: ClientView, wait: str = "60", named: dt.datetime | None = None) -> Turn:
    """Ask again later, unless that is too often or in her quiet hours; `named`: an instant she named."""
    version = view.in_force
    if version is None or view.paused or view.done(view.today) >= view.sets(view.today):
        return Turn(says=(Say("later.none"),))
    plan, until = version.prescription, named or later_at(view, wait)
    quiet = local_time.quiet_at(until, plan.quiet_from, plan.quiet_to, view.zone)
    another_day = local_time.local_date(until, view.zone) != view.today
    if quiet or until <= view.now or view.laters >= MOST_LATERS or another_day:
        return Turn(says=(Say("later.no"),))
    return Turn((Postpone(until),), (Say("later", {"clock": clock_text(until, view.zone)}),))


def without_buttons(turn: Turn, press: Press) -> Turn:
    """A turn that also takes the buttons off the message that was pressed."""
    taken: tuple[Effect, ...] = () if press.message_id is None else (TakeButtons(press.message_id),)
    return Turn(turn.effects + taken, turn.says)
