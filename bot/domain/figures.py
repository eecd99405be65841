"""A number that somebody has to be able to question: its value and where it comes from."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Figure:
    """A limit or a factor, shown with its source.

    source: the publication, or that there is none. source_read: whether we read the source itself; otherwise
    it is from memory, or told by somebody else, as the source says.
    """

    value: float
    source: str
    source_read: bool

    @property
    def share(self) -> Fraction:
        """The value as a share of 1, exactly as it is written."""
        return Fraction(str(self.value))
