"""A starting template: what a prescription for one kind of client begins with, before any finding."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class AsksBirth(StrEnum):
    """Whether a birth belongs to this kind of client: its day is asked, may be none, or is not asked."""

    YES = "yes"
    MAYBE = "maybe"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Template:
    """A starting template. Entries of `beside`, `without_dose` and `adjuncts` are as in a prescription file.

    asks: findings that this kind of client needs besides those asked of all. strength: whether a strength
    dose is proposed at all. beside: what joins the proposed dose in each set. without_dose: the sets where
    no dose may be proposed; nothing in it strengthens. review_weeks: from the start to the review.
    """

    id: str
    title: str
    birth: AsksBirth
    birth_mode: str | None
    asks: tuple[str, ...]
    strength: bool
    sets_a_day: int
    review_weeks: int
    beside: tuple[Mapping[str, Any], ...]
    without_dose: tuple[Mapping[str, Any], ...]
    adjuncts: tuple[Mapping[str, Any], ...]
    questions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Templates:
    """All templates in the order they are offered; `times`: nudge times for so many sets a day."""

    templates: tuple[Template, ...]
    times: Mapping[int, tuple[str, ...]]

    def by_id(self, template_id: str) -> Template | None:
        """The template of an id."""
        return next((one for one in self.templates if one.id == template_id), None)
