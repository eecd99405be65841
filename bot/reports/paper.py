"""Pages as PDF: tagged, real text, one font family; the same input gives the same file."""

import datetime as dt
import json
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import typst

from bot.domain.adherence import Day
from bot.domain.attention import Line
from bot.reports import summary
from bot.reports.digest import Digest, apart, counts_text, head
from bot.reports.picture import WEEK, Mark, bars, label, mark, our_fonts
from bot.reports.summary_parts import ROOMS, About, Section
from bot.reports.words import Words

TEMPLATES = Path(__file__).parent / "templates"
STANDARD: Final = "ua-1"
"""PDF/UA-1 (ISO 14289-1): the compiler refuses a page without the tags and texts that readers need."""

_PAGES = re.compile(rb"/Type/Pages/Count (\d+)")


def pdf(template: str, content: dict[str, object], at: dt.datetime) -> bytes:
    """A page from a template. at: stands in the file as the instant it was made."""
    return typst.compile(
        TEMPLATES / template,
        format="pdf",
        font_paths=our_fonts(),
        sys_inputs={"content": json.dumps(content)},
        pdf_standards=STANDARD,
        timestamp=at.replace(microsecond=0),
    )


def summary_pdf(about: About, say: Words) -> bytes:
    """A review or discharge summary as a PDF of one page: where there is too much for it, less is shown."""
    made = b""
    for room in ROOMS:
        page = summary.page(about, say, room)
        content: dict[str, object] = {
            "title": page.title,
            "client": page.client,
            "clinic": about.clinic,
            "about": page.about,
            "sections": [_section(section, say) for section in page.sections],
            "marks-head": say.say("head.marks"),
            "foot": page.foot,
        }
        made = pdf("summary.typ", content, about.record.at)
        if pages(made) == 1:
            break
    return made


def pages(made: bytes) -> int:
    """How many pages a PDF of ours has."""
    return int(_PAGES.findall(made)[0])


@dataclass(frozen=True, slots=True)
class Heading:
    """Whose digest it is. whose: a therapist's code, None for all of the clinic. on: the day it was made."""

    clinic: str
    whose: str | None
    on: dt.date


def digest_pdf(data: Digest, heading: Heading, at: dt.datetime, say: Words) -> bytes:
    """The digest as a PDF, every client in the order of attention, on as many pages as it takes."""
    rows = [_row(line, say) for line in data.lines]
    used = {mark(day) for line in data.lines for day in line.client.days[-WEEK:]}
    whose = say.say("paper.digest-all")
    if heading.whose:
        whose = say.say("paper.digest-therapist", therapist=heading.whose)
    about = say.say("paper.digest-about", clinic=heading.clinic, whose=whose, on=say.date(heading.on))
    return pdf(
        "digest_paper.typ",
        {
            "title": say.say("paper.digest"),
            "window": say.window(data.first_on, data.last_on),
            "clinic": heading.clinic,
            "about": about,
            "head": head(data, say),
            "how": say.say("how-to-read"),
            "nobody": say.say("nobody"),
            "table-head": [say.say(f"head.{name}") for name in ("client", "why", "week-days", "leaks-weeks")],
            "rows": rows,
            "legend": legend(used, say),
            "closing": apart(data.lines, say, len(data.lines)),
            "foot": say.say("paper.foot"),
        },
        at,
    )


def _row(line: Line, say: Words) -> dict[str, object]:
    told = [sentence for why in line.reasons if (sentence := say.reason(why))]
    days = line.client.days[-WEEK:]
    counts = counts_text(line, say)
    return {
        "code": line.code,
        "listed": line.rank.listed,
        "why": "; ".join(told) or label(line, say),
        "counts": counts[:1].upper() + counts[1:],
        "days": cells(days),
        "in-words": in_words(days, say),
        "weeks": "  ".join("?" if span is None else say.short_span(span) for span in line.client.leaks),
    }


def legend(used: Collection[Mark], say: Words) -> list[dict[str, object]]:
    """What the marks mean, those that occur."""
    return [
        {"cell": {"mark": name, "done": 2, "due": 3}, "words": words}
        for name, words in say.marks.items()
        if name in used
    ]


def _section(of: Section, say: Words) -> dict[str, object]:
    used = {mark(day) for days in of.days for day in days}
    return {
        "title": of.title,
        "lines": of.lines,
        "notes": of.notes,
        "table": None if of.table is None else {"head": of.table.head, "rows": of.table.rows},
        "days": [{"cells": cells(days), "words": in_words(days, say)} for days in of.days],
        "legend": legend(used, say),
    }


def cells(days: Sequence[Day]) -> list[dict[str, object]]:
    """Days as their marks, seven places: a first week that was shorter begins with empty ones."""
    before: list[dict[str, object]] = [{"mark": Mark.BEFORE, "done": 0, "due": 0}] * (WEEK - len(days))
    return before + [
        {"mark": mark(day), "done": filled, "due": due} for day in days for filled, due in [bars(day)]
    ]


def in_words(days: Sequence[Day], say: Words) -> str:
    """Days in words, for those who cannot see the marks."""
    return "; ".join(f"{say.date(day.on)}: {day_in_words(day, say)}" for day in days)


def day_in_words(day: Day, say: Words) -> str:
    """One day in words, such as "2 of 3" or "no answer"."""
    kind = mark(day)
    if kind in {Mark.DONE, Mark.PARTLY, Mark.NONE}:
        return say.say("done", done=f"{day.done}", due=day.prescribed)
    return say.marks[kind]
