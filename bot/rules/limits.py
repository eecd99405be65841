"""The limits of the gates and the figures of the dose: data with a source beside each number."""

import functools
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import AfterValidator, Field, ValidationError, field_validator

from bot.domain.dose import Figures, FloorCounts
from bot.domain.exercises import Counted, Load
from bot.domain.figures import Figure
from bot.domain.findings import Unit
from bot.domain.gating import Limits, LoadLimits
from bot.domain.ladder import LadderStep, Rung
from bot.domain.progress import Criteria
from bot.errors import RefusedError
from bot.rules import faults
from bot.rules.faults import Strict

FILE: Final = Path(__file__).parent / "limits.toml"
LARGEST_FILE_BYTES = 64 * 1024


class FigureEntry(Strict):
    """A number, where it comes from, and whether we read that source ourselves."""

    value: float = Field(ge=0, le=1000, allow_inf_nan=False, strict=True)
    source: str = Field(min_length=5, max_length=200)
    source_read: bool

    def figure(self) -> Figure:
        """The same for the rest of the program."""
        return Figure(self.value, self.source, self.source_read)


def _whole(entry: FigureEntry) -> FigureEntry:
    if entry.value != int(entry.value):
        raise ValueError("value: expected a whole number")
    return entry


Whole = Annotated[FigureEntry, AfterValidator(_whole)]


class LoadEntry(Strict):
    """What one kind of load asks for; see `bot.domain.gating.LoadLimits`."""

    weeks: Whole
    narrower_than: Mapping[Unit, FigureEntry] = {}
    impact_screen: bool = False


class GatesEntry(Strict):
    """The limits of the gates."""

    loads: Mapping[Load, LoadEntry]
    heaviness: FigureEntry
    pain: FigureEntry
    fresh_weeks: Whole

    @field_validator("loads")
    @classmethod
    def _every_load(cls, value: Mapping[Load, LoadEntry]) -> Mapping[Load, LoadEntry]:
        missing = [load for load in Load if load not in value]
        if missing:
            raise ValueError(f"nothing said about {', '.join(missing)}; expected every load")
        return value


class DoseEntry(Strict):
    """The figures of the dose; see `bot.domain.dose.Figures`."""

    floor_contractions: Whole
    floor_sets: Whole
    floor_counts: FloorCounts
    floor_counts_source: str = Field(min_length=5, max_length=200)
    rest_s: Whole
    pause_s: Whole
    quick_rest_s: Whole
    sets_a_day: Whole
    repetition_s: FigureEntry
    fresh_weeks: Whole


class Share(FigureEntry):
    """A share of 1."""

    value: float = Field(ge=0, le=1, allow_inf_nan=False, strict=True)


class LadderEntry(Strict):
    """One step of the ladder; see `bot.domain.ladder.LadderStep`."""

    change: Rung
    source: str = Field(min_length=5, max_length=200)
    counted: tuple[Counted, ...] = ()
    by: int = Field(default=1, ge=1, le=10, strict=True)
    least: int = Field(default=1, ge=1, le=60, strict=True)
    most: int = Field(default=60, ge=1, le=60, strict=True)


Ladder = Annotated[tuple[LadderEntry, ...], Field(max_length=12)]


class ProgressEntry(Strict):
    """When a step is proposed, and which; see `bot.domain.progress.Criteria`."""

    weeks_on_version: Whole
    threshold: Share
    answered_share: Share
    answered_days: Whole
    far_below: Share
    quiet_weeks: Whole
    finding_weeks: Whole
    technique_weeks: Whole
    harder: Ladder
    easier: Ladder
    fewer: Ladder


class LimitsFile(Strict):
    """All limits and figures."""

    gates: GatesEntry
    dose: DoseEntry
    progress: ProgressEntry


@functools.cache
def _packaged() -> dict[str, Any]:
    return faults.read_toml(
        faults.read_text(FILE, LARGEST_FILE_BYTES, "limits in TOML"), FILE.name, "limits in TOML"
    )


def load(own: Mapping[str, Any] | None = None, name: str = FILE.name) -> tuple[Limits, Figures, Criteria]:
    """The limits, figures and criteria in force; `own` holds what a clinic sets otherwise, in the same shape.

    Raises RefusedError with a line for each fault, `name` in front.
    """
    try:
        file = LimitsFile.model_validate(_merged(_packaged(), own or {}))
    except ValidationError as error:
        found = faults.lines(error, "the limits", faults.field_names(LimitsFile))
        raise RefusedError(
            *(faults.line(name, faults.dotted(place), message) for place, message in found)
        ) from None
    return _limits(file.gates), _figures(file.dose), _criteria(file.progress)


def _merged(ours: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """Our tables with a clinic's entries in their place.

    A figure is taken whole: a number keeps its source.
    """
    both = dict(ours)
    for key, value in own.items():
        tables = isinstance(value, Mapping) and isinstance(ours.get(key), Mapping)
        both[key] = _merged(ours[key], value) if tables and "value" not in ours[key] else value
    return both


def _limits(gates: GatesEntry) -> Limits:
    return Limits(
        loads={
            load: LoadLimits(
                weeks=entry.weeks.figure(),
                narrower_than={unit: limit.figure() for unit, limit in entry.narrower_than.items()},
                impact_screen=entry.impact_screen,
            )
            for load, entry in gates.loads.items()
        },
        heaviness=gates.heaviness.figure(),
        pain=gates.pain.figure(),
        fresh_weeks=gates.fresh_weeks.figure(),
    )


def _figures(dose: DoseEntry) -> Figures:
    return Figures(
        floor_contractions=dose.floor_contractions.figure(),
        floor_sets=dose.floor_sets.figure(),
        floor_counts=dose.floor_counts,
        floor_counts_source=dose.floor_counts_source,
        rest_s=dose.rest_s.figure(),
        pause_s=dose.pause_s.figure(),
        quick_rest_s=dose.quick_rest_s.figure(),
        sets_a_day=dose.sets_a_day.figure(),
        repetition_s=dose.repetition_s.figure(),
        fresh_weeks=dose.fresh_weeks.figure(),
    )


def _criteria(progress: ProgressEntry) -> Criteria:
    return Criteria(
        weeks_on_version=progress.weeks_on_version.figure(),
        threshold=progress.threshold.figure(),
        answered_share=progress.answered_share.figure(),
        answered_days=progress.answered_days.figure(),
        far_below=progress.far_below.figure(),
        quiet_weeks=progress.quiet_weeks.figure(),
        finding_weeks=progress.finding_weeks.figure(),
        technique_weeks=progress.technique_weeks.figure(),
        harder=_ladder(progress.harder),
        easier=_ladder(progress.easier),
        fewer=_ladder(progress.fewer),
    )


def _ladder(entries: tuple[LadderEntry, ...]) -> tuple[LadderStep, ...]:
    return tuple(
        LadderStep(one.change, one.source, one.by, one.least, one.most, frozenset(one.counted))
        for one in entries
    )
