"""How urgent a warning sign is."""

from enum import Enum


class Level(Enum):
    """The four levels of a warning sign, most urgent first.

    EMERGENCY: emergency service or department now. SAME_DAY: a clinician today. THERAPIST: the therapist is
    told and the provoking exercise set aside. NEXT_REVIEW: recorded for the next visit, nobody is pinged.
    The split follows public maternity texts and must be signed off by a clinician (clinical source list:
    docs/reference/signs).
    """

    EMERGENCY = "emergency"
    SAME_DAY = "same_day"
    THERAPIST = "therapist"
    NEXT_REVIEW = "next_review"

    @property
    def rank(self) -> int:
        """0 for the most urgent; sort by it."""
        return list(Level).index(self)


def highest(levels: "list[Level]") -> Level | None:
    """The most urgent of some levels, or None of none."""
    return min(levels, key=lambda level: level.rank, default=None)
