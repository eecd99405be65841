"""Adherence as JSON: fractions of 1, not rounded, null where nothing can be divided."""

from collections.abc import Sequence
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from bot.domain import adherence as adh
from bot.domain.adherence import Adherence, Cover, Day, days_covered


def number(share: Fraction | None) -> float | None:
    """A share for a script."""
    return None if share is None else float(share)


def shares(figures: Adherence) -> dict[str, Any]:
    """The range, the figure on answered days, and how much was answered: never one without the others."""
    return {
        "lower": number(figures.lower),
        "upper": number(figures.upper),
        "on_answered": number(figures.on_answered),
        "answered_share": number(figures.answered_share),
    }


def adherence(days: Sequence[Day]) -> dict[str, Any]:
    """Everything about some days: counts, shares, and the days covered by both meanings of the word.

    Raises RefusedError naming every date that is given twice.
    """
    figures = adh.adherence(days)
    return {
        **asdict(figures),
        "at_most": figures.at_most,
        **shares(figures),
        "standing": adh.compare(figures).value,
        "days_covered": {cover.value: covered(days, cover) for cover in Cover},
    }


def covered(days: Sequence[Day], cover: Cover) -> dict[str, Any]:
    """The proportion of days covered, as a range."""
    found = days_covered(days, cover)
    return {
        "at_least": found.at_least,
        "at_most": found.at_most,
        "days": found.days,
        "lower": number(found.lower),
        "upper": number(found.upper),
    }
