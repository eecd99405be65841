"""Parts of a caseload that a therapist looks at by themselves, in the order the digest has them."""

from collections.abc import Mapping, Sequence
from enum import StrEnum

from bot.domain.attention import Line, Reason
from bot.domain.people import Client, Stage


class Filter(StrEnum):
    """Which clients a list shows.

    INVITED: those who have not agreed to take part yet. ENDED: those who left or were discharged.
    """

    ALL = "all"
    ALERTS = "alerts"
    SILENT = "silent"
    REVIEW = "review"
    PAUSED = "paused"
    NOTES = "notes"
    INVITED = "invited"
    ENDED = "ended"


REASONS: Mapping[Filter, frozenset[Reason]] = {
    Filter.ALERTS: frozenset({Reason.ALERT_UNSEEN, Reason.ALERT_OPEN, Reason.ALERT_UNDECIDED}),
    Filter.SILENT: frozenset({Reason.SILENT, Reason.UNREACHABLE}),
    Filter.REVIEW: frozenset({Reason.REVIEW_LONG_OVERDUE, Reason.REVIEW_OVERDUE, Reason.REVIEW_DUE}),
    Filter.PAUSED: frozenset({Reason.PAUSED, Reason.STOPPED}),
    Filter.NOTES: frozenset({Reason.NOTES}),
}
"""What has to hold of a client in the order of attention for a part to show her; one reason is enough."""

STAGES: Mapping[Filter, frozenset[Stage]] = {
    Filter.INVITED: frozenset({Stage.INVITED, Stage.CONSENTING}),
    Filter.ENDED: frozenset({Stage.WITHDRAWN, Stage.DISCHARGED}),
}
"""The parts that go by how far a client is; the digest does not know most of these clients."""


def lines_of(lines: Sequence[Line], wanted: Filter) -> tuple[Line, ...]:
    """The clients of a part, in the order they stand in; none for a part that goes by stage."""
    if wanted is Filter.ALL:
        return tuple(lines)
    reasons = REASONS.get(wanted, frozenset())
    return tuple(line for line in lines if any(why.reason in reasons for why in line.reasons))


def clients_of(clients: Sequence[Client], wanted: Filter) -> tuple[Client, ...]:
    """The clients of a part that goes by stage, in the order they stand in."""
    stages = STAGES.get(wanted, frozenset())
    return tuple(client for client in clients if client.stage in stages)


def counts(lines: Sequence[Line], clients: Sequence[Client]) -> dict[Filter, int]:
    """How many clients each part shows."""
    return {each: len(lines_of(lines, each)) + len(clients_of(clients, each)) for each in Filter}
