"""A prescription file as the rest of the program sees it."""

from bot.domain.findings import Birth, Distance, Finding, Perfect, Site
from bot.domain.gating import Clearance, Record, Release, SignSpan
from bot.domain.prescription import Adjunct, Contractions, Prescription
from bot.rules.prescription_fields import DAYS, DayName
from bot.rules.prescription_models import PrescriptionFile
from bot.rules.record_models import DistancesEntry, FindingEntry, PerfectEntry


def prescription(file: PrescriptionFile) -> Prescription:
    """The programme."""
    plan = file.programme
    return Prescription(
        contractions=tuple(
            Contractions(
                exercise=entry.exercise,
                repetitions=entry.repetitions,
                hold_s=entry.hold_s,
                rest_s=entry.rest_s,
                position=entry.position,
                days=_weekdays(entry.days),
                easier_position=entry.easier_position,
            )
            for entry in plan.contractions
        ),
        sets_a_day=plan.sets_a_day,
        days=frozenset(DAYS.index(day) for day in plan.days),
        nudge_times=plan.nudge_times,
        quiet_from=plan.quiet_from,
        quiet_to=plan.quiet_to,
        round_up_at=plan.round_up_at,
        check_in_day=DAYS.index(file.check_in.day),
        check_in_questions=file.check_in.questions,
        starts_on=plan.starts_on,
        review_on=plan.review_on,
        adjuncts=tuple(
            Adjunct(
                exercise=entry.exercise,
                position=entry.position,
                times_a_day=entry.times_a_day,
                days=_weekdays(entry.days),
                repetitions=entry.repetitions,
                hold_s=entry.hold_s,
                minutes=entry.minutes,
            )
            for entry in plan.adjuncts
        ),
        pause_s=plan.pause_s,
    )


def _weekdays(days: tuple[DayName, ...] | None) -> frozenset[int] | None:
    return None if days is None else frozenset(DAYS.index(day) for day in days)


def record(file: PrescriptionFile) -> Record:
    """What gates and dose look at: birth, clearances, findings, signs, releases."""
    birth = file.birth
    return Record(
        birth=None if birth is None else Birth(birth.on, birth.mode, birth.tear),
        clearances=tuple(Clearance(entry.by, entry.on, frozenset(entry.loads)) for entry in file.clearances),
        findings=tuple(_finding(entry) for entry in file.findings),
        signs=tuple(SignSpan(entry.sign, entry.opened_on, entry.closed_on) for entry in file.signs),
        releases=tuple(
            Release(entry.exercise, entry.on, entry.by, entry.reason, frozenset(entry.sets_aside))
            for entry in file.releases
        ),
        pregnant_since_on=file.pregnant_since_on,
    )


def _finding(entry: FindingEntry) -> Finding:
    return Finding(
        on=entry.on,
        contraction=entry.contraction,
        full_release=entry.full_release,
        how=entry.how,
        tone=entry.tone,
        pain_on_contraction=entry.pain_on_contraction,
        perfect=_perfect(entry.perfect),
        distances=tuple(one for taken in entry.distances for one in _distances(entry, taken)),
        doming=entry.doming,
        heaviness=entry.heaviness,
        pain=entry.pain,
        bleeding=entry.bleeding,
        leaks_a_week=entry.leaks_a_week,
        leakage=entry.leakage,
        prolapse_stage=entry.prolapse_stage,
        pessary=entry.pessary,
        red_flags_screened=entry.red_flags_screened,
        impact_screen=entry.impact_screen,
        scores=dict(entry.scores),
        note=entry.note,
    )


def _perfect(entry: PerfectEntry | None) -> Perfect | None:
    if entry is None:
        return None
    return Perfect(entry.power, entry.endurance_s, entry.repetitions, entry.fast)


def _distances(entry: FindingEntry, taken: DistancesEntry) -> list[Distance]:
    widths = {Site.ABOVE: taken.above, Site.AT: taken.at, Site.BELOW: taken.below}
    return [
        Distance(entry.on, site, taken.state, taken.method, taken.unit, width)
        for site, width in widths.items()
        if width is not None
    ]
