"""The warning signs for whoever answers for them: a table, plain data, and a page to sign on paper."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from bot.domain import check_in
from bot.domain.alerts import LADDERS, Ladder
from bot.domain.levels import Level
from bot.domain.warning_signs import Sign, SignRules, Stops

READ, FROM_MEMORY = "read", "from memory"
PHRASES_SHOWN = 10
_ELEMENT = re.compile(r"<([\d.]+):([\d.]+)[^>]*>")
HEADINGS = ("sign", "level", "route", "handling", "sets aside", "nudges", "source")
_STOPS = {Stops.NOTHING: "nothing", Stops.THAT_EXERCISE: "that exercise", Stops.ALL: "all exercises"}


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the page shows besides the signs.

    digest: of everything in force; parts: of each part by name. advice: the texts as written, by sentence id.
    lowered: signs the clinic made less urgent, as (sign, before, after, reason, name). changed: ids of the
    signs a clinic's own file touches. intended_use: the statement, paragraphs apart.
    """

    rules: SignRules
    digest: str
    parts: Mapping[str, str]
    advice: Mapping[str, str]
    lowered: Sequence[tuple[str, Level, Level, str, str]]
    changed: frozenset[str]
    intended_use: str
    printed_on: dt.date


def row(sign: Sign, changed: frozenset[str] = frozenset()) -> dict[str, Any]:
    """One sign as plain data, most of it for a table."""
    return {
        "id": sign.id,
        "title": sign.title,
        "level": sign.level.value,
        "route": sign.route.value,
        "handling": sign.handling.value,
        "sets_aside": sign.stops.value,
        "pauses_nudges": sign.pauses_nudges,
        "lowered_by_her_no": not sign.never_lowered,
        "other_levels": sorted(
            {saying.level.value for saying in sign.sayings} - {sign.level.value},
            key=lambda value: Level(value).rank,
        ),
        "phrases": sum(len(saying.phrases) for saying in sign.sayings),
        "source": sign.source,
        "source_was": READ if sign.source_read else FROM_MEMORY,
        "changed_by_clinic": sign.id in changed,
    }


def ordered(rules: SignRules) -> list[Sign]:
    """The signs, most urgent first, in the order of the rules within a level."""
    return sorted(rules.signs.values(), key=lambda sign: sign.level.rank)


def table(rules: SignRules, changed: frozenset[str] = frozenset()) -> str:
    """The signs as lines of one table, columns aligned; the source stands last and is not cut."""
    cells = [HEADINGS, *(_cells(sign, changed) for sign in ordered(rules))]
    widths = [max(len(line[column]) for line in cells) for column in range(len(HEADINGS) - 1)]
    return "\n".join(
        "  ".join(
            (*(cell.ljust(width) for cell, width in zip(line, widths, strict=False)), line[-1])
        ).rstrip()
        for line in cells
    )


def _cells(sign: Sign, changed: frozenset[str]) -> tuple[str, ...]:
    mark = " *" if sign.id in changed else ""
    was = READ if sign.source_read else FROM_MEMORY
    return (
        f"{sign.id}{mark}",
        sign.level.value,
        sign.route.value,
        sign.handling.value,
        _STOPS[sign.stops],
        "paused" if sign.pauses_nudges or sign.level is Level.EMERGENCY else "go on",
        f"{sign.source} ({was})",
    )


STYLE = """
@page { size: A4 landscape; margin: 14mm 12mm; }
body { font: 9.5pt/1.35 "DejaVu Sans", Verdana, sans-serif; color: #111; max-width: 273mm; margin: 8mm auto; }
h1 { font-size: 17pt; margin: 0 0 2mm; } h2 { font-size: 12.5pt; margin: 8mm 0 2mm; break-after: avoid; }
table { border-collapse: collapse; width: 100%; } thead { display: table-header-group; }
th, td { border: 0.3pt solid #999; padding: 1.2mm 1.6mm; text-align: left; vertical-align: top; }
th { background: #eee; } tr { break-inside: avoid; }
.level { white-space: nowrap; font-weight: bold; } .fine { font-size: 8pt; color: #333; }
code { font: 8.5pt "DejaVu Sans Mono", monospace; overflow-wrap: anywhere; }
.text { white-space: pre-line; } td:nth-child(7) { min-width: 70mm; } .sign td { height: 11mm; width: 33%; }
"""


def page(sheet: Sheet) -> str:
    """The whole as one HTML page that prints on A4, with a place to sign; needs nothing from elsewhere."""
    title = f"Warning signs for sign-off: {sheet.rules.language} {sheet.rules.version}"
    body = "\n".join(_sections(sheet, title))
    return (
        f'<!doctype html>\n<html lang="en-GB"><head><meta charset="utf-8"><title>{escape(title)}</title>'
        f"<style>{STYLE}</style></head>\n<body>\n{body}\n</body></html>\n"
    )


def _sections(sheet: Sheet, title: str) -> Iterator[str]:
    yield f"<h1>{escape(title)}</h1>"
    yield (
        f"<p>Printed {sheet.printed_on}. In force: <code>{sheet.digest}</code>. "
        "Not assessed or registered as a medical device; the clinic must settle this with its regulator "
        "first. "
        "Levels are advice to a client about whom to contact, never a diagnosis.</p>"
    )
    yield _rows(
        ("Part", "SHA-256"), [(name, f"<code>{value}</code>") for name, value in sorted(sheet.parts.items())]
    )
    yield "<h2>Signs</h2>"
    yield _rows(
        (
            "Level",
            "Sign",
            "She is sent to",
            "Sets aside; nudges",
            "Handling",
            "Source",
            "For instance",
            "Agreed",
        ),
        [_sign(sign, sheet.changed) for sign in ordered(sheet.rules)],
    )
    yield "<h2>Signs that together are worse</h2>"
    yield _rows(
        ("Together", "Become", "She is sent to"),
        [
            (
                escape(" + ".join(_title(sheet.rules, sign) for sign in sorted(each.together))),
                f"{escape(_title(sheet.rules, each.sign))}: {each.level.value}",
                each.route.value,
            )
            for each in sheet.rules.combinations
        ],
    )
    if sheet.lowered:
        yield "<h2>Made less urgent by the clinic</h2>"
        yield _rows(
            ("Sign", "From", "To", "Reason", "Decided by"),
            [
                (escape(sign), before.value, after.value, escape(reason), escape(name))
                for sign, before, after, reason, name in sheet.lowered
            ],
        )
    yield "<h2>Weekly answers that count as a sign</h2><p class=fine>Common practice, no source.</p>"
    yield _rows(("Question", "When", "Level"), [_threshold(each) for each in check_in.THRESHOLDS])
    yield "<h2>When the clinic's people are told</h2>"
    yield (
        "<p class=fine>Counted from the first alert, in clinic hours, or at night where somebody is named on "
        "call. "
        "Common practice, no source.</p>"
    )
    yield _rows(("Level", "Told"), [(level.value, _ladder(ladder)) for level, ladder in LADDERS.items()])
    yield "<h2>Advice, as written</h2>"
    yield "<p class=fine>Words in braces are the clinic's own numbers and times.</p>"
    yield _rows(
        ("Text", "Words"),
        [
            (f"<code>{key}</code>", f"<div class=text>{escape(text)}</div>")
            for key, text in sheet.advice.items()
        ],
    )
    yield "<h2>Intended use</h2>"
    for paragraph in sheet.intended_use.split("\n\n")[1:]:
        yield f"<p class=text>{escape(paragraph.replace('**', ''))}</p>"
    yield "<h2>Signature</h2>"
    yield "<p>I have read the signs, texts and times above and agree to their use at my clinic.</p>"
    boxes = ("Name", "Registration number", "Date, signature")
    yield f"<table class=sign><tr>{''.join(f'<td>{box}</td>' for box in boxes)}</tr></table>"
    yield (
        f"<p class=fine>Recorded with <code>programme-bot sign-off --digest {sheet.digest[:12]} --name ... "
        "--registration ...</code></p>"
    )


def _sign(sign: Sign, changed: frozenset[str]) -> tuple[str, ...]:
    examples = dict.fromkeys(
        plainly(phrase) for saying in sign.sayings for phrase in saying.phrases if saying.level is sign.level
    )
    also = row(sign)["other_levels"]
    level = sign.level.value + (f"<br><span class=fine>also {', '.join(also)}</span>" if also else "")
    cells = _cells(sign, frozenset())
    mark = " <b>(changed by the clinic)</b>" if sign.id in changed else ""
    stays = "; her later no does not lower it" if sign.never_lowered else ""
    return (
        f"<span class=level>{level}</span>",
        f"{escape(sign.title)}{mark}<br><code>{sign.id}</code>",
        escape(cells[2].replace("_", " ")),
        f"{cells[4]}; {cells[5]}",
        f"{cells[3]}{stays}",
        escape(cells[-1]),
        "<br>".join(escape(text) for text in sorted(examples, key=len)[:PHRASES_SHOWN]),
        "&#9744; yes<br>&#9744; no",
    )


def plainly(phrase: str) -> str:
    """One wording of a phrase, for people: the first choice of each element, "…" for other words between."""
    said = []
    for token in phrase.partition(" ! ")[0].split():
        if token in {"^", "$"}:
            continue
        if token.startswith("~"):
            said.append("…")
        elif token in {"&", "&&"}:
            said.append("+")
        else:
            first = _ELEMENT.sub(r"\1 to \2", token.split("|")[0])
            said.append(first.strip("?*").replace("@", "any ").replace("_", " "))
    return " ".join(said)


def _title(rules: SignRules, sign: str) -> str:
    return rules.signs[sign].title


def _threshold(each: check_in.Threshold) -> tuple[str, str, str]:
    when = [f"{each.at_least} or more"] if each.at_least is not None else []
    when += ["a range above her first answer"] if each.above_baseline else []
    return each.question, " or ".join(when), each.level.value


def _ladder(ladder: Ladder) -> str:
    steps = [f"{rung.to.value} after {int(rung.after.total_seconds() // 60)} min" for rung in ladder.rungs]
    if ladder.then_every is not None:
        steps.append(f"both every {int(ladder.then_every.total_seconds() // 60)} min")
    return ", ".join(steps)


def _rows(headings: Sequence[str], lines: Sequence[Sequence[str]]) -> str:
    head = "".join(f"<th>{escape(heading)}</th>" for heading in headings)
    body = "\n".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in line) + "</tr>" for line in lines)
    return f"<table><thead><tr>{head}</tr></thead>\n<tbody>{body}</tbody></table>"
