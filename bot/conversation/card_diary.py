"""A client's diary as the therapist reads it on her card."""

import datetime as dt

from bot.conversation.card import CardView, covered, date, say, span_text
from bot.domain.adherence import Day, DayState
from bot.domain.check_in import QUESTIONS, span_of

DIARY_DAYS = 14
FULL, EMPTY = "●", "○"  # told apart by being filled, not by colour


def diary_pages(view: CardView) -> int:
    """How many pages her diary has."""
    return max(1, -(-len(view.record.days) // DIARY_DAYS))


def diary(view: CardView, page: int) -> str:
    """A page of her diary, the newest first: days as cells in words, and what she told of symptoms."""
    days = view.record.days
    end = len(days) - page * DIARY_DAYS
    shown = days[max(0, end - DIARY_DAYS) : max(0, end)]
    if not shown:
        return covered([say("diary.empty")], [])
    told: dict[dt.date, list[str]] = {}
    for one in view.record.symptoms:
        if one.question in QUESTIONS:
            value = None if one.value is None else span_text(span_of(one.question, one.value))
            phrase = "diary.skipped" if value is None else "diary.symptom"
            told.setdefault(one.on, []).append(say(phrase, question=one.question, value=value))
    for note in view.record.to_her:
        told.setdefault(view.record.local_day(note.at), []).append(say("diary.note", by=note.by))
    head = say("diary.page", client=view.label, first=date(shown[0].on), last=date(shown[-1].on))
    lines = ["; ".join([_day(day), *told.get(day.on, ())]) for day in reversed(shown)]
    return covered([head], lines)


def _day(day: Day) -> str:
    cells = FULL * day.done + EMPTY * (day.prescribed - day.done) if day.due and day.answered else ""
    return say("diary.day", day=date(day.on), cells=cells, what=_what(day)).replace("   ", "  ")


def _what(day: Day) -> str:
    extra = f", {say('diary.extra', sets=day.extra)}" if day.extra else ""
    if day.state is not DayState.ACTIVE:
        return say(f"diary.{day.state.value}") + extra
    if not day.due:
        return say("diary.free") + extra
    if not day.answered:
        return say("diary.unknown")
    if not day.done:
        return say("diary.none")
    return say("diary.count", done=day.done, due=day.prescribed) + extra
