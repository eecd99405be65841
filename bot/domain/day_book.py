"""What a client said about her sets, day by day: reports are only added, the total is worked out."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple


class Meaning(StrEnum):
    """What one report does to its day's total."""

    TOTAL = "total"  # so many in all
    ADDED = "added"  # so many more
    NONE = "none"  # none in all: a report, unlike silence
    CLOSED = "closed"  # no more today: keeps what was booked, a zero only if nothing was
    UNDONE = "undone"  # takes another report back


_TOTAL, _ADDED, _NONE, _CLOSED, _UNDONE = Meaning


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


class Said(NamedTuple):
    """A report among others in the order they were said; see `SetReport`."""

    on: dt.date
    meaning: Meaning
    value: int
    key: str = ""
    undoes: str = ""


@dataclass(frozen=True, slots=True)
class DayBook:
    """Totals by local day (a day nobody reported is missing) and the days she closed herself."""

    totals: Mapping[dt.date, int]
    closed: frozenset[dt.date]


def fold(reports: Iterable[SetReport]) -> DayBook:
    """The day book of some reports, which may come in any order."""
    in_order: list[SetReport] = sorted(reports, key=lambda report: report.said_at)
    return fold_in_order(in_order)


def fold_in_order(reports: Sequence[SetReport | Said]) -> DayBook:
    """The day book of some reports in the order they were said."""
    undone = {report.undoes for report in reports if report.meaning is _UNDONE}
    totals: dict[dt.date, int] = {}
    closed: set[dt.date] = set()
    for report in reports:  # a plain loop: every digest folds every client's reports
        meaning, on = report.meaning, report.on
        if undone and report.key in undone:
            continue
        if meaning is _ADDED:
            totals[on] = totals.get(on, 0) + report.value
        elif meaning is _TOTAL or meaning is _NONE:
            totals[on] = report.value
        elif meaning is _CLOSED:
            totals.setdefault(on, 0)
            closed.add(on)
    return DayBook(totals, frozenset(closed))
