"""A prescription in words, for the therapist: summary, dose, gates, and what a new version changes."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import assert_never

from bot.conversation.copy.en_prescribing import PHRASES
from bot.domain.changes import Change, Changed, Days, Of
from bot.domain.dose import Dose, Figures, NotProposed, Proposal
from bot.domain.exercises import Catalogue, Counted, Exercise, Load
from bot.domain.gating import Condition, Decision, GateState, Lack, Reason, Record
from bot.domain.prescription import Adjunct, Contractions, Position, Prescription

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
OLD_BIRTH_DAYS = 730  # 24 months; a birth before that is more often a slip of the year


def say(phrase: str, **values: object) -> str:
    """A phrase with its values put in."""
    return PHRASES[phrase].format(**values)


def duration(seconds: float) -> str:
    """A time in minutes and seconds, such as "2 min 12 s"."""
    minutes, rest_s = divmod(round(seconds), 60)
    if not minutes:
        return say("duration.s", s=rest_s)
    return say("duration.min-s", min=minutes, s=rest_s) if rest_s else say("duration.min", min=minutes)


def weekdays(days: Days | None) -> str:
    """Some days of the week, such as "on Mon, Wed", or every day."""
    if days is None or len(days) == len(WEEKDAYS):
        return say("days.all")
    return say("days.some", days=", ".join(WEEKDAYS[day] for day in sorted(days)))


@lru_cache(maxsize=1024)
def reason(why: Reason) -> str:
    """Why an exercise is not allowed yet, with the source of the limit where there is one."""
    kind: str = why.lack.value
    if why.condition is Condition.CLEARANCE and why.earliest_on:
        kind = "later"
    if why.condition is Condition.PAIN and why.lack is Lack.NOT_MET and why.found is None:
        kind = "on-contraction"
    distance = why.distance
    said = say(
        f"gate.{why.condition.value}.{kind}",
        found_on=why.found_on,
        found=None if why.found is None else f"{why.found:g}",
        limit=None if why.limit is None else f"{why.limit.value:g}",
        earliest_on=why.earliest_on,
        sign=why.sign,
        loads=", ".join(say(f"load.{load.value}") for load in why.loads),
        width=distance and say(f"width.{distance.unit.value}", width=f"{distance.width:g}"),
        site=distance and distance.site.value,
        state=distance and say(f"state.{distance.state.value}"),
    )
    return say("gate.source", said=said, source=why.limit.source) if why.limit else said


def reasons(decision: Decision) -> str:
    """All reasons of a decision in one line."""
    return "; ".join(map(reason, decision.reasons))


def refusal(decision: Decision, on: dt.date) -> str:
    """Why a prescription with this exercise cannot be put in force on a day."""
    return say(
        f"refused.{decision.state.value}", exercise=decision.exercise, on=on, reasons=reasons(decision)
    )


def gates(decisions: Iterable[Decision], catalogue: Catalogue) -> tuple[str, ...]:
    """Where the exercises that need a gate stand; those with the same reasons share a line.

    What all of them wait for is said once, in front.
    """
    waiting: dict[tuple[str, ...], list[str]] = {}
    ready, lines = [], []
    for decision in decisions:
        title = catalogue.title(decision.exercise)
        match decision.state:
            case GateState.NOT_YET:
                waiting.setdefault(tuple(map(reason, decision.reasons)), []).append(title)
            case GateState.READY_FOR_REVIEW:
                ready.append(title)
            case GateState.ALLOWED:
                if decision.release:
                    lines.append(_released(decision, title))
            case _:
                assert_never(decision.state)
    if ready:
        lines.append(say("state.ready-for-review", titles=", ".join(ready)))
    return (*lines, *_waiting(waiting))


def _waiting(waiting: Mapping[tuple[str, ...], Sequence[str]]) -> Iterator[str]:
    first, *rest = waiting or [()]
    of_all = [why for why in first if all(why in others for others in rest)] if rest else []
    if of_all:
        yield say("state.not-yet-all", reasons="; ".join(of_all))
    for whys, titles in waiting.items():
        own = [why for why in whys if why not in of_all] or [say("state.only-that")]
        yield say("state.not-yet", titles=", ".join(titles), reasons="; ".join(own))


def standing(decisions: Sequence[Decision], catalogue: Catalogue) -> tuple[str, ...]:
    """The same, with the exercises that need no gate in front."""
    free = [
        catalogue.title(decision.exercise)
        for decision in decisions
        if decision.state is GateState.ALLOWED and decision.release is None
    ]
    lines = gates(decisions, catalogue)
    return (say("state.no-gate", titles=", ".join(free)), *lines) if free else lines


def exercise_line(one: Exercise) -> str:
    """An exercise in one line."""
    return say("exercise.line", id=one.id, title=one.title, loads=_loads(one))


def exercise(one: Exercise) -> tuple[str, ...]:
    """An exercise in full."""
    return (
        exercise_line(one),
        say("exercise.positions", positions=", ".join(one.positions)),
        say("exercise.counted", counted=say(f"counted.{one.counted.value}")),
        *(say("exercise.equipment", thing=it.thing, stand_in=it.stand_in) for it in one.equipment),
        *(say("exercise.cue", cue=cue) for cue in one.cues),
        *(say("exercise.stop-if", sign=sign) for sign in one.stop_if),
        *([one.getting_up] if one.getting_up else []),
        *([say("exercise.easier", easier=one.easier)] if one.easier else []),
    )


def _loads(one: Exercise) -> str:
    if not one.loads:
        return say("exercise.no-load")
    loads = (say(f"load.{load.value}") for load in Load if load in one.loads)
    return say("exercise.load", loads=", ".join(loads))


def _released(decision: Decision, title: str) -> str:
    release = decision.release
    aside = "; ".join(reason(why) for why in decision.set_aside)
    return say(
        "state.override" if aside else "state.allowed",
        title=title,
        on=release and release.on,
        by=release and release.by,
        reason=release and release.reason,
        aside=aside,
    )


def part(one: Contractions, catalogue: Catalogue) -> str:
    """One exercise of a set."""
    exercise = catalogue.exercises.get(one.exercise)
    quick = exercise is not None and exercise.counted is Counted.QUICK_IN_10_S
    said = say(
        "part.quick-in-10-s" if quick else "part.holds",
        title=catalogue.title(one.exercise),
        repetitions=one.repetitions,
        hold_s=one.hold_s,
        rest_s=one.rest_s,
        position=one.position.value,
    )
    if one.days is not None:
        said = say("part.days", said=said, days=weekdays(one.days))
    return say("part.easier", said=said, position=one.easier_position.value) if one.easier_position else said


def adjunct(one: Adjunct, catalogue: Catalogue) -> str:
    """One exercise beside the sets."""
    how = ""
    if one.minutes is not None:
        how = say("adjunct.minutes", minutes=one.minutes)
    elif one.repetitions is not None and one.hold_s is not None:
        how = say("adjunct.holds", repetitions=one.repetitions, hold_s=one.hold_s)
    elif one.repetitions is not None:
        how = say("adjunct.repetitions", repetitions=one.repetitions)
    said = say(
        "adjunct",
        title=catalogue.title(one.exercise),
        how=how,
        position=one.position.value,
        times=times_a_day(one.times_a_day),
    )
    return said if one.days is None else say("part.days", said=said, days=weekdays(one.days))


def times_a_day(times: int) -> str:
    """How often, such as "once a day"."""
    few = {1: "times.one", 2: "times.two"}
    return say(few.get(times, "times.many"), times=times)


def sets(number: int) -> str:
    """So many sets."""
    return say("sets.one") if number == 1 else say("sets.many", sets=number)


def programme(client: str, prescription: Prescription, catalogue: Catalogue) -> tuple[str, ...]:
    """The programme, a line for each exercise."""
    return (
        say("head", client=client, starts_on=prescription.starts_on, review_on=prescription.review_on),
        say(
            "sets",
            sets=sets(prescription.sets_a_day),
            times=_times(prescription.nudge_times),
            days=weekdays(prescription.days),
        ),
        *(part(one, catalogue) for one in prescription.contractions),
        *([say("pause", pause=duration(prescription.pause_s))] if prescription.pause_s else []),
        *(adjunct(one, catalogue) for one in prescription.adjuncts),
    )


def _times(times: Iterable[dt.time]) -> str:
    return ", ".join(f"{at:%H:%M}" for at in times)


def dose(amount: Dose) -> tuple[str, ...]:
    """What a prescription adds up to, on its fullest day, and how that compares with the published floor."""
    a_set, a_day = amount.a_set, amount.a_day
    adjuncts = say("dose.adjuncts", adjuncts=duration(a_day.adjuncts_s)) if a_day.adjuncts_s else ""
    lines = [
        say(
            "dose",
            a_set=a_set.contractions,
            a_day=a_day.contractions,
            a_week=amount.a_week.contractions,
            tension_set=duration(a_set.under_tension_s),
            tension_day=duration(a_day.under_tension_s),
        ),
        say("dose.time", a_set=duration(a_set.sets_s), a_day=duration(a_day.sets_s), adjuncts=adjuncts),
    ]
    if amount.floor:
        floor = amount.floor
        lines.append(
            say(
                "floor.met" if floor.is_met else "floor.below",
                counted=floor.counted,
                which=say(f"floor.{floor.counts.value}"),
                floor=floor.floor,
                source=floor.source,
            )
        )
    return tuple(lines)


def proposal(made: Proposal | NotProposed, catalogue: Catalogue, figures: Figures) -> tuple[str, ...]:
    """A proposed dose with its source and notes, or why there is none."""
    if isinstance(made, NotProposed):
        return (say("not-proposed", reasons="; ".join(say(f"no.{why.value}") for why in made.reasons)),)
    parts = "; ".join(part(one, catalogue) for one in made.contractions)
    if made.pause_s:
        parts += say("proposed.pause", pause=duration(made.pause_s))
    return (
        say(
            "proposed",
            perfect=made.perfect,
            found_on=made.found_on,
            sets=sets(made.sets_a_day),
            parts=parts,
            source=figures.rest_s.source,
        ),
        *(say(f"note.{note.value}", weeks=f"{figures.fresh_weeks.value:g}") for note in made.notes),
    )


def record_notes(record: Record, on: dt.date) -> tuple[str, ...]:
    """What is worth a second look in the record of a client."""
    if record.birth is None:
        return (say("note.no-birth"),)
    old = (on - record.birth.on).days > OLD_BIRTH_DAYS
    return (say("note.old-birth", on=record.birth.on),) if old else ()


def changes(found: Sequence[Change], catalogue: Catalogue) -> tuple[str, ...]:
    """What a new version changes: a line for each exercise, then one for the programme."""
    lines: dict[str | None, list[str]] = {}
    for change in found:
        lines.setdefault(change.exercise, []).append(_change(change, catalogue))
    about = lines.pop(None, [])
    return (
        *(f"{catalogue.title(exercise or '')}: {'; '.join(said)}" for exercise, said in lines.items()),
        *(["; ".join(about)] if about else []),
    ) or (say("changed.nothing"),)


def _change(change: Change, catalogue: Catalogue) -> str:
    before, after = (_value(change.changed, value) for value in (change.before, change.after))
    what = ""
    if isinstance(change.after, Contractions):
        what = part(change.after, catalogue).partition(": ")[2]
    elif isinstance(change.after, Adjunct):
        what = adjunct(change.after, catalogue).partition(": ")[2].partition(": ")[2]
    return say(f"changed.{change.changed.value}", before=before, after=after, what=what)


def _value(changed: Changed, value: Of) -> str:
    """A value as its change tells it."""
    match changed:
        case Changed.HOLD | Changed.REST | Changed.PAUSE if isinstance(value, int):
            return duration(value)
        case Changed.TIMES_A_DAY if isinstance(value, int):
            return times_a_day(value)
        case Changed.CHECK_IN_DAY if isinstance(value, int):
            return WEEKDAYS[value]
        case Changed.EXERCISE_DAYS | Changed.DAYS if value is None or isinstance(value, frozenset):
            return weekdays(value)
        case Changed.QUIET_HOURS if isinstance(value, tuple):
            return " to ".join(_texts(value))
        case Changed.EASIER_POSITION if value is None:
            return say("same-position")
        case _ if isinstance(value, tuple):
            return ", ".join(_texts(value)) or say("nothing")
        case _ if isinstance(value, Position):
            return value.value
        case _:
            return say("nothing") if value is None else str(value)


def _texts(values: Iterable[dt.time | str]) -> Iterator[str]:
    return (f"{value:%H:%M}" if isinstance(value, dt.time) else value for value in values)
