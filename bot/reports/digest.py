"""The weekly digest as text: one screen that says who needs the therapist, in counts."""

import datetime as dt
import uuid
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate

from bot.domain import adherence as adh
from bot.domain.attention import Line, Rank
from bot.domain.client_week import ClientWeek
from bot.domain.levels import Level
from bot.domain.trend import Weekly
from bot.reports.words import Words, words

ONE_SCREEN = 1000
"""Characters of a digest, counted as the platform counts them; its own limit is 4096.

What a phone 390 points wide and 844 high shows at once at 16 points, measured in a browser.
"""
MOST_REASONS = 4
MOST_APART = 6
FEWEST_APART = 2


@dataclass(frozen=True, slots=True)
class Digest:
    """What one digest shows.

    lines: her clients in the order of attention. first_on, last_on: the week's first and last day in the
    therapist's own calendar; a client in another zone may be a day apart. client_ids: by code, for buttons.
    """

    lines: tuple[Line, ...]
    first_on: dt.date
    last_on: dt.date
    client_ids: Mapping[str, uuid.UUID] = field(default_factory=dict)


def length(text: str) -> int:
    """The length of a text in UTF-16 units, the larger of the two ways the platform may count."""
    return len(text.encode("utf-16-le")) // 2


def figures_parts(figures: adh.Adherence, say: Words) -> list[str]:
    """Counts of sets and days one by one: done, answered, extra, and the days outside the count."""
    parts = []
    if figures.prescribed:
        done = str(figures.done)
        if figures.unknown:
            done = say.say("range", low=done, high=str(figures.at_most))
        parts.append(say.say("done", done=done, due=figures.prescribed))
        parts.append(say.say("answered", answered=figures.answered_days, days=figures.days))
    else:
        parts.append(say.say("nothing-due"))
    if figures.extra:
        parts.append(say.say("extra", sets=figures.extra))
    apart = (
        ("paused", figures.paused_days),
        ("stopped", figures.stopped_days),
        ("travel", figures.travel_days),
    )
    parts.extend(say.say(name, days=days) for name, days in apart if days)
    return parts


def figures_text(figures: adh.Adherence, say: Words) -> str:
    """Counts of sets and days, such as "13 to 18 of 21, answered 5 of 7 days"."""
    return ", ".join(figures_parts(figures, say))


def leaks_text(leaks: Weekly, say: Words) -> str:
    """This week's leaks beside last week's, "" if neither was answered."""
    now = leaks[-1] if leaks else None
    was = leaks[-2] if len(leaks) > 1 else None
    if now is None and was is None:
        return ""
    if was is None:
        return say.say("leaks-first", now=say.span(now))
    return say.say("leaks", now=say.span(now), was=say.span(was))


def plan_text(client: ClientWeek, say: Words) -> str:
    """What stands in the way of sets this week, beyond the days already shown apart."""
    if client.paused_until_on is not None:
        return say.say("paused-until", on=say.date(client.paused_until_on))
    if client.plan_starts_on is not None and client.plan_starts_on >= client.today:
        return say.say("starts", on=say.date(client.plan_starts_on))
    return ""


def counts_text(line: Line, say: Words) -> str:
    """A client's counts: sets and days, what stands in the way, leaks."""
    parts = (
        figures_text(line.figures, say),
        plan_text(line.client, say),
        leaks_text(line.client.leaks, say),
    )
    return "; ".join(filter(None, parts))


def client_line(line: Line, say: Words) -> str:
    """One client in one line: code, why she is here, her counts."""
    told = [sentence for why in line.reasons if (sentence := say.reason(why))]
    shown = told[:MOST_REASONS]
    if len(told) > len(shown):
        shown.append(say.say("more-reasons", reasons=len(told) - len(shown)))
    counts = counts_text(line, say)
    figures = counts[:1].upper() + counts[1:]
    return say.say("line", code=line.code, reasons="; ".join(shown), figures=figures)


def head(data: Digest, say: Words) -> str:
    """The first line: the week, how many clients, and how many in each group."""
    ranks = Counter(line.rank for line in data.lines)
    listed = sum(count for rank, count in ranks.items() if rank.listed)
    parts = [say.say("clients", window=say.window(data.first_on, data.last_on), clients=len(data.lines))]
    if data.lines:
        parts.append(say.say("to-look-at", clients=listed))
    parts.extend(words.format(clients=ranks[rank]) for rank, words in say.groups.items() if ranks[rank])
    return ", ".join(parts) + "."


def _group_lines(lines: Sequence[Line], say: Words) -> list[str]:
    """The clients nothing is asked for, a line for each group."""
    groups = {rank: [line.figures for line in lines if line.rank is rank] for rank in say.groups}
    return [
        say.say("group", group=say.groups[rank].format(clients=len(group)), figures=_sum_text(group, say))
        for rank, group in groups.items()
        if group
    ]


def apart(lines: Sequence[Line], say: Words, most: int = MOST_APART) -> list[str]:
    """What asks for nothing now and must not be forgotten: emergencies closed this week, signs kept."""
    closed = [
        say.say(
            "closed-one",
            code=line.code,
            level=say.names[alert.level],
            on=say.date(alert.raised_on),
            outcome=say.names[alert.outcome],
        )
        for line in lines
        for alert in line.client.closed
        if alert.level is Level.EMERGENCY
    ]
    kept = [(line.code, sum(not alert.pushed for alert in line.client.alerts)) for line in lines]
    signs = [say.say("next-visit-one", code=code, signs=number) for code, number in kept if number]
    told = (("closed", closed), ("next-visit", signs))
    return [say.say(name, clients=_few(parts, most, say)) for name, parts in told if parts]


def _few(parts: Sequence[str], most: int, say: Words) -> str:
    """The first of some parts in one line, and how many more there are."""
    left = len(parts) - most
    return ", ".join((*parts[:most], *([say.say("more", clients=left)] if left > 0 else [])))


def _sum_text(figures: Sequence[adh.Adherence], say: Words) -> str:
    return figures_text(adh.together(figures), say)


def _more(left: Sequence[Line], say: Words) -> list[str]:
    """The line that stands for clients cut off, none if nobody was."""
    if not left:
        return []
    alerts = sum(line.rank is Rank.ALERT for line in left)
    return [say.say("more-alerts" if alerts else "more", clients=len(left), alerts=alerts)]


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands before and after the clients' lines, and how long the whole may be."""

    opening: str
    closing: tuple[str, ...]
    limit: int


def fit(frame: Frame, parts: Sequence[str], lines: Sequence[Line], say: Words) -> str:
    """As many of `parts` (one for each of `lines`) as fit in the frame; the others are counted."""
    room = frame.limit - length(frame.opening)
    shown = sum(used <= room for used in accumulate(length(part) + 1 for part in parts))
    while True:
        text = "\n".join((frame.opening, *parts[:shown], *_more(lines[shown:], say), *frame.closing))
        if length(text) <= frame.limit or not shown:
            return text
        shown -= 1


def digest_text(data: Digest, language: str = "en") -> str:
    """The digest: counts, then who needs the therapist, then everybody else summed up.

    Codes only. The first 160 characters hold no word about the body, since they show on a locked phone. At
    most `ONE_SCREEN` characters; a list that is longer ends with how many more there are.
    """
    say = words(language)
    listed = [line for line in data.lines if line.rank.listed]
    if not data.lines:
        return "\n".join((head(data, say), say.say("nobody")))
    if not listed:
        together = _sum_text([line.figures for line in data.lines], say)
        return "\n".join(
            (head(data, say), say.say("all-together", figures=together), *apart(data.lines, say))
        )
    opening = "\n".join((head(data, say), say.say("how-to-read"), ""))
    parts = [client_line(line, say) for line in listed]
    rest = [*_group_lines(data.lines, say), *apart(data.lines, say)]
    whole = "\n".join((opening, *parts, *(("", *rest) if rest else ())))
    if length(whole) <= ONE_SCREEN:
        return whole
    # Who needs her comes first: the groups' figures make way, their counts stand in the first line.
    rest = apart(data.lines, say, FEWEST_APART)
    return fit(Frame(opening, ("", *rest) if rest else (), ONE_SCREEN), parts, listed, say)


def codes_shown(data: Digest, text: str, language: str = "en") -> tuple[str, ...]:
    """The clients who have a line of their own in a digest's text, in its order."""
    say = words(language)
    lines = set(text.splitlines())
    return tuple(line.code for line in data.lines if line.rank.listed and client_line(line, say) in lines)
