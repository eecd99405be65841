"""A prescription as JSON: the dose, the gates, and what a check found. Plain values in, plain values out."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from bot.conversation import prescribing_words as words
from bot.domain import findings
from bot.domain.dose import Amount, Dose, Figures, NotProposed, Proposal
from bot.domain.exercises import Catalogue, Exercise
from bot.domain.figures import Figure
from bot.domain.gating import Decision, Reason, Record, Release


def amount(of: Amount) -> dict[str, int]:
    """An amount of work with its sums."""
    return {**asdict(of), "contractions": of.contractions, "under_tension_s": of.under_tension_s}


def figure(of: Figure | None) -> dict[str, Any] | None:
    """A figure with its source."""
    if of is None:
        return None
    return {"value": of.value, "source": of.source, "source_read": of.source_read}


def dose(of: Dose) -> dict[str, Any]:
    """What a prescription adds up to, and how that compares with the published floor."""
    floor = of.floor
    return {
        "sets_a_day": of.sets_a_day,
        "a_set": amount(of.a_set),
        "a_day": amount(of.a_day),
        "a_week": amount(of.a_week),
        "by_weekday": [amount(day) for day in of.by_weekday],
        "floor": None
        if floor is None
        else {
            "counted": floor.counted,
            "counts": floor.counts.value,
            "floor": floor.floor,
            "is_met": floor.is_met,
            "source": floor.source,
        },
    }


def proposal(of: Proposal | NotProposed, figures: Figures) -> dict[str, Any]:
    """A proposed dose with its source, or why there is none."""
    if isinstance(of, NotProposed):
        return {"proposed": False, "reasons": [why.value for why in of.reasons]}
    return {
        "proposed": True,
        "perfect": asdict(of.perfect),
        "found_on": of.found_on.isoformat(),
        "sets_a_day": of.sets_a_day,
        "pause_s": of.pause_s,
        "contractions": [
            {
                "exercise": one.exercise,
                "repetitions": one.repetitions,
                "hold_s": one.hold_s,
                "rest_s": one.rest_s,
                "position": one.position.value,
            }
            for one in of.contractions
        ],
        "notes": [note.value for note in of.notes],
        "source": figures.rest_s.source,
    }


def gates(record: Record, on: dt.date, decisions: Iterable[Decision], catalogue: Catalogue) -> dict[str, Any]:
    """Where every exercise stands on a day."""
    birth = record.birth
    return {
        "on": on.isoformat(),
        "weeks_since_birth": None if birth is None else findings.weeks_since(birth.on, on),
        "gates": [_decision(decision, catalogue) for decision in decisions],
    }


def _decision(of: Decision, catalogue: Catalogue) -> dict[str, Any]:
    return {
        "exercise": of.exercise,
        "title": catalogue.title(of.exercise),
        "loads": sorted(catalogue.exercises[of.exercise].loads),
        "state": of.state.value,
        "reasons": [_reason(why) for why in of.reasons],
        "earliest_on": of.earliest_on and of.earliest_on.isoformat(),
        "release": of.release and _release(of.release),
        "set_aside": [_reason(why) for why in of.set_aside],
    }


def _reason(why: Reason) -> dict[str, Any]:
    return {
        "condition": why.condition.value,
        "lack": why.lack.value,
        "text": words.reason(why),
        "earliest_on": why.earliest_on and why.earliest_on.isoformat(),
        "limit": figure(why.limit),
    }


def _release(of: Release) -> dict[str, Any]:
    return {
        "on": of.on.isoformat(),
        "by": of.by,
        "reason": of.reason,
        "sets_aside": sorted(condition.value for condition in of.sets_aside),
    }


def exercise(of: Exercise) -> dict[str, Any]:
    """One exercise of the catalogue."""
    return {
        **asdict(of),
        "group": of.group.value,
        "counted": of.counted.value,
        "loads": sorted(load.value for load in of.loads),
        "positions": [position.value for position in of.positions],
    }
