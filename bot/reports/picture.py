"""The weekly digest as one picture: a row for each client, a mark for each day, told apart by shape alone."""

import json
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import TypedDict

import typst

from bot.domain import adherence as adh
from bot.domain.attention import Line
from bot.domain.trend import Weekly
from bot.reports.digest import Digest, Frame, figures_parts, fit, plan_text
from bot.reports.words import Words, words

HERE = Path(__file__).parent
TEMPLATE = HERE / "templates" / "digest.typ"
FONTS = HERE / "fonts"

MOST_CLIENTS = 12
CAPTION = 1024
"""The platform's limit for the text under a picture."""
WEEK = 7
MOST_BARS = 10
LINE_WEEKS = 8
"""Weeks shown in a client's symptom line."""
POINTS_PER_INCH = 72
"""At this density one point of the template is one pixel."""


class Mark(StrEnum):
    """The shapes a day can have. BEFORE is empty: the client had not joined yet."""

    DONE = "done"
    PARTLY = "partly"
    NONE = "none"
    UNKNOWN = "unknown"
    PAUSED = "paused"
    STOPPED = "stopped"
    TRAVEL = "travel"
    FREE = "free"
    BEFORE = "before"


OUTSIDE = {
    adh.DayState.PAUSED: Mark.PAUSED,
    adh.DayState.STOPPED: Mark.STOPPED,
    adh.DayState.TRAVEL: Mark.TRAVEL,
}


def mark(day: adh.Day) -> Mark:
    """The shape of a day."""
    if not day.due:
        return OUTSIDE.get(day.state, Mark.FREE)
    if not day.answered:
        return Mark.UNKNOWN
    if day.done == day.prescribed:
        return Mark.DONE
    return Mark.PARTLY if day.done else Mark.NONE


def bars(day: adh.Day) -> tuple[int, int]:
    """Filled bars and all bars of a day: one for each set, and beyond `MOST_BARS` sets in proportion."""
    if day.prescribed <= MOST_BARS:
        return day.done, day.prescribed
    some = min(max(1, day.done * MOST_BARS // day.prescribed), MOST_BARS - 1)
    return (some if day.done else 0), MOST_BARS


def _days(line: Line, say: Words) -> list[dict[str, object]]:
    days = line.client.days[-WEEK:]
    before = [{"label": "", "mark": Mark.BEFORE, "done": 0, "due": 0}] * (WEEK - len(days))
    return before + [
        {
            "label": f"{say.weekday_letters[day.on.weekday()]} {day.on.day}",
            "mark": mark(day),
            "done": filled,
            "due": all_bars,
        }
        for day in days
        for filled, all_bars in [bars(day)]
    ]


def _weeks(leaks: Weekly, say: Words) -> list[dict[str, float | str] | None]:
    """The last weeks of the symptom line, none if no week was answered.

    An open range is drawn at its lower end; its words say that it may be more.
    """
    weeks: list[dict[str, float | str] | None] = [
        None
        if span is None
        else {
            "low": span.low,
            "high": span.low if span.high is None else span.high,
            "words": say.short_span(span),
        }
        for span in leaks[-LINE_WEEKS:]
    ]
    return weeks if any(weeks) else []


def label(line: Line, say: Words) -> str:
    """Why a client is where she is, in two or three words."""
    return next(filter(None, map(say.label, line.reasons)), say.sayings["steady"])


class Row(TypedDict):
    """A client as the template takes her."""

    code: str
    listed: bool
    label: str
    figures: list[str]
    days: list[dict[str, object]]
    weeks: list[dict[str, float | str] | None]


def _row(line: Line, say: Words) -> Row:
    return {
        "code": line.code,
        "listed": line.rank.listed,
        "label": label(line, say),
        "figures": [*figures_parts(line.figures, say), *filter(None, [plan_text(line.client, say)])],
        "days": _days(line, say),
        "weeks": _weeks(line.client.leaks, say),
    }


def _shown(data: Digest, say: Words) -> str:
    """How many of the clients the picture shows, "" if all of them."""
    if len(data.lines) <= MOST_CLIENTS:
        return ""
    return say.say("shown", shown=MOST_CLIENTS, clients=len(data.lines))


@cache
def our_fonts() -> typst.Fonts:
    """Our own fonts and no others, so that the picture is the same on every machine."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])


def digest_picture(data: Digest, language: str = "en") -> bytes:
    """The digest as a PNG, 1080 pixels wide: the `MOST_CLIENTS` most urgent clients and a legend."""
    say = words(language)
    rows = [_row(line, say) for line in data.lines[:MOST_CLIENTS]]
    used = {day["mark"] for row in rows for day in row["days"]}
    content = {
        "title": say.window(data.first_on, data.last_on),
        "shown": _shown(data, say),
        "nobody": "" if rows else say.sayings["nobody"],
        "rows": rows,
        "weeks": LINE_WEEKS,
        "legend": [{"mark": name, "words": text} for name, text in say.marks.items() if name in used],
        "line-label": say.sayings["line-label"],
        "line-legend": say.sayings["line-legend"] if any(row["weeks"] for row in rows) else "",
    }
    return typst.compile(
        TEMPLATE,
        format="png",
        ppi=POINTS_PER_INCH,
        font_paths=our_fonts(),
        sys_inputs={"content": json.dumps(content)},
    )


SIGNS = {
    Mark.UNKNOWN: "?",
    Mark.FREE: "-",
    Mark.PAUSED: "p",
    Mark.STOPPED: "s",
    Mark.TRAVEL: "t",
    Mark.BEFORE: ".",
}
"""A day in one character for a reader who cannot see the picture; where it counts, its number of sets."""


def picture_caption(data: Digest, language: str = "en") -> str:
    """What the picture adds to the text, day by day, for those who cannot see it; at most `CAPTION` long.

    The first 160 characters hold no word about the body, since they show on a locked phone.
    """
    say = words(language)
    lines = data.lines[:MOST_CLIENTS]
    if not lines:
        return "\n".join((say.window(data.first_on, data.last_on), say.say("nobody")))
    used = {mark(day) for line in lines for day in line.client.days}
    legend = ", ".join(
        f"{SIGNS[one]} {say.marks[one.value]}" for one in SIGNS if one in used and one.value in say.marks
    )
    opening = say.say("by-day", window=say.window(data.first_on, data.last_on))
    parts = [
        say.say("by-day-line", code=line.code, days=" ".join(map(_sign, line.client.days)) or "-")
        for line in lines
    ]
    head_lines = (opening, legend, "") if legend else (opening, "")
    return fit(Frame("\n".join(head_lines), (), CAPTION), parts, data.lines, say)


def _sign(day: adh.Day) -> str:
    found = SIGNS.get(mark(day))
    return found if found is not None else f"{day.done}/{day.prescribed}"
