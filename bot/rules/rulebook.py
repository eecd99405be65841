"""What a prescription is judged by: the exercises, the limits of the gates, the figures of the dose.

A clinic may bring a file of its own with three parts: `[[exercise]]` adds exercises, `[[reword]]` changes the
words of those that are there, `[limits]` sets limits and figures otherwise, each with its own source.
"""

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.domain.dose import Figures
from bot.domain.exercises import Catalogue
from bot.domain.gating import Limits
from bot.domain.progress import Criteria
from bot.rules import exercises, faults, limits
from bot.rules.exercises import ExerciseEntry, Rewording
from bot.rules.faults import Strict

EXPECTED = "a clinic's own exercises and limits in TOML"


@dataclass(frozen=True, slots=True)
class Rulebook:
    """Exercises, limits, figures and criteria in force."""

    catalogue: Catalogue
    limits: Limits
    figures: Figures
    criteria: Criteria


class OwnFile(Strict):
    """A clinic's own file. `limits` has the shape of the packaged ones and holds only what differs."""

    exercise: tuple[ExerciseEntry, ...] = ()
    reword: tuple[Rewording, ...] = ()
    limits: Mapping[str, Any] = {}


@functools.cache
def packaged() -> Rulebook:
    """What travels with the program."""
    return Rulebook(exercises.load(), *limits.load())


def with_own(path: Path | None) -> Rulebook:
    """The packaged rules, or those with a clinic's own file.

    Raises RefusedError with a line for each fault: file, exercise or limit, field, reason.
    """
    if path is None:
        return packaged()
    name = str(path)
    document = faults.read_toml(
        faults.read_text(path, exercises.LARGEST_FILE_BYTES, EXPECTED), name, EXPECTED
    )
    own = exercises.checked(OwnFile, document, name)
    catalogue, set_otherwise = faults.together(
        lambda: exercises.with_own(own.exercise, own.reword, name),
        lambda: limits.load(own.limits, f"{name}: limits"),
    )
    return Rulebook(catalogue, *set_otherwise)


def own_schema() -> dict[str, Any]:
    """The JSON Schema of a clinic's own file, the limits with every field left open."""
    made = OwnFile.model_json_schema()
    own = limits.LimitsFile.model_json_schema()
    for part in (own, *own["$defs"].values()):
        if "value" not in part.get("properties", {}):  # a figure is given whole, with its source
            part.pop("required", None)
    made["$defs"] |= own.pop("$defs")
    made["properties"]["limits"] = own
    return made
