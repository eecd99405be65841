"""What a client said about her sets, day by day: reports are only added, the total is worked out."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum


class Meaning(StrEnum):
    """What one report does to its day's total."""

    TOTAL = "total"  # so many in all
    ADDED = "added"  # so many more
    NONE = "none"  # none in all: a report, unlike silence
    CLOSED = "closed"  # no more today: keeps what was booked, a zero only if nothing was
    UNDONE = "undone"  # takes another report back


@dataclass(frozen=True, slots=True)
class SetReport:
    """One report.

    said_at: when she said it; reports that arrive late still count by it. key: what makes it one of a kind
    for its client. undoes: the key of the report an UNDONE one takes back.
    """

    on: dt.date
    meaning: Meaning
    value: int
    said_at: dt.datetime
    key: str = ""
    undoes: str = ""


@dataclass(frozen=True, slots=True)
class DayBook:
    """Totals by local day (a day nobody reported is missing) and the days she closed herself."""

    totals: Mapping[dt.date, int]
    closed: frozenset[dt.date]


def fold(reports: Iterable[SetReport]) -> DayBook:
    """The day book of some reports, which may come in any order."""
    reports = list(reports)
    undone = {report.undoes for report in reports if report.meaning is Meaning.UNDONE}
    totals: dict[dt.date, int] = {}
    closed: set[dt.date] = set()
    for report in sorted(reports, key=lambda r: r.said_at):
        if report.key in undone:
            continue
        booked = totals.get(report.on, 0)
        match report.meaning:
            case Meaning.TOTAL | Meaning.NONE:
                totals[report.on] = report.value
            case Meaning.ADDED:
                totals[report.on] = booked + report.value
            case Meaning.CLOSED:
                totals[report.on] = booked
                closed.add(report.on)
            case Meaning.UNDONE:
                pass
    return DayBook(totals, frozenset(closed))
