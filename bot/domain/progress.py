"""Whether a client's programme may go on to the next step, with every reason.

The program proposes and never changes a dose by itself. Where the figures leave it open, it holds.
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from bot.domain import adherence as adh
from bot.domain import findings as found
from bot.domain.dose import NoDose, against_more
from bot.domain.exercises import Catalogue
from bot.domain.figures import Figure
from bot.domain.findings import Finding
from bot.domain.ladder import LadderStep, Rung, Step, steps
from bot.domain.prescription import InForce

DAYS_A_WEEK = 7


class Advice(StrEnum):
    """What to consider. PROGRESS and REGRESS come with a step where the ladder has one."""

    TALK_FIRST = "talk first"
    REGRESS = "consider an easier step"
    HOLD = "hold"
    PROGRESS = "consider progressing"


class Ground(StrEnum):
    """Why; each has its words."""

    SIGN_OPEN = "sign-open"
    SIGN_NEW = "sign-new"
    STOPPED = "stopped"
    PAUSED = "paused"
    SILENT = "silent"
    CONTRACTION_NOT_CONFIRMED = "contraction-not-confirmed"
    RELEASE_NOT_FULL = "release-not-full"
    TOO_WEAK = "too-weak"
    RAISED_TONE = "raised-tone"
    PAIN_ON_CONTRACTION = "pain-on-contraction"
    LEAKS_WORSE = "leaks-worse"
    HEAVINESS_WORSE = "heaviness-worse"
    PAIN_WORSE = "pain-worse"
    TECHNIQUE_NOT_ALL = "technique-not-all"
    FAR_BELOW = "far-below"
    STARTS_LATER = "starts-later"
    TOO_SHORT = "too-short"
    TOO_FEW_ANSWERS = "too-few-answers"
    BELOW = "below"
    CANNOT_TELL = "cannot-tell"
    TECHNIQUE_NOT_ASKED = "technique-not-asked"
    TECHNIQUE_UNSURE = "technique-unsure"
    FINDING_TOO_OLD = "finding-too-old"
    TOP_OF_LADDER = "top-of-ladder"
    LOWEST_STEP = "lowest-step"
    ALL_MET = "all-met"


_OF_FINDINGS = {
    NoDose.CONTRACTION_NOT_CONFIRMED: Ground.CONTRACTION_NOT_CONFIRMED,
    NoDose.RELEASE_NOT_FULL: Ground.RELEASE_NOT_FULL,
    NoDose.TOO_WEAK: Ground.TOO_WEAK,
    NoDose.RAISED_TONE: Ground.RAISED_TONE,
    NoDose.PAIN_ON_CONTRACTION: Ground.PAIN_ON_CONTRACTION,
}


class Measure(StrEnum):
    """A symptom that counts against going on when it gets worse."""

    LEAKS = "leaks"
    HEAVINESS = "heaviness"
    PAIN = "pain"

    @property
    def ground(self) -> Ground:
        """The reason it gives."""
        return Ground(f"{self.value}-worse")


class Technique(StrEnum):
    """Her own answer: all repetitions, no breath-holding, and letting go fully."""

    ALL = "all"
    NOT_ALL = "not-all"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class Criteria:
    """What has to hold; every figure a setting with its source.

    weeks_on_version: whole weeks on the version, at least. threshold: share of the agreed sets, 0 to 1.
    answered_share: share of the days that count with an answer, at least; answered_days: and so many.
    far_below: a share under which the plan itself may be too much. quiet_weeks: so long without a new sign.
    finding_weeks: a position needs a finding no older. technique_weeks: so long her own answer holds. harder,
    easier: the ladder, first step first; fewer: what is tried where the plan does not fit her days.
    """

    weeks_on_version: Figure
    threshold: Figure
    answered_share: Figure
    answered_days: Figure
    far_below: Figure
    quiet_weeks: Figure
    finding_weeks: Figure
    technique_weeks: Figure
    harder: tuple[LadderStep, ...]
    easier: tuple[LadderStep, ...]
    fewer: tuple[LadderStep, ...]

    @property
    def window_days(self) -> int:
        """How many days back adherence is looked at: those she must have had the version for."""
        return int(self.weeks_on_version.value) * DAYS_A_WEEK


@dataclass(frozen=True, slots=True)
class Situation:
    """What is known of a client on her local day `today`.

    version: in force today. days: her days, oldest first, ending yesterday; those before the version and
    before the criteria's window are left out here. open_signs: alerts without an outcome that ask for
    somebody now. signs_on: days on which a warning sign was told. worse: symptoms that rose. technique: her
    newest answer and its day.
    """

    today: dt.date
    version: InForce | None
    days: tuple[adh.Day, ...] = ()
    findings: tuple[Finding, ...] = ()
    open_signs: int = 0
    signs_on: tuple[dt.date, ...] = ()
    stopped: bool = False
    paused: bool = False
    silent: bool = False
    worse: frozenset[Measure] = frozenset()
    technique: found.Dated[Technique] | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """What to consider, why, and the step that would be taken.

    grounds: most pressing first, never empty. asks_her: everything else holds, and only her own answer about
    her technique is wanting: it is asked of her then.
    """

    advice: Advice
    grounds: tuple[Ground, ...]
    step: Step | None = None
    asks_her: bool = False


def judge(known: Situation, criteria: Criteria, catalogue: Catalogue) -> Judgement | None:
    """What to consider for a client; None without a version in force that has begun."""
    if known.version is None:
        return None
    talk = tuple(_to_talk_about(known, criteria))
    if talk:
        return Judgement(Advice.TALK_FIRST, talk)
    unfit = tuple(_OF_FINDINGS[why] for why in against_more(known.findings, known.today))
    if unfit:
        return Judgement(Advice.HOLD, unfit)
    figures = window(known, criteria)
    harm = tuple(_against_the_dose(known, criteria))
    fits = not _surely_below(figures, criteria.far_below) or _short(figures, criteria)
    if harm or not fits:
        ladder = criteria.easier if harm else criteria.fewer
        grounds = harm if fits else (*harm, Ground.FAR_BELOW)
        return _eased(known.version, grounds, ladder, catalogue)
    wanting = tuple(_wanting(known, figures, criteria))
    step, missing = _next_step(known, criteria, catalogue)
    if wanting or step is None:
        only_hers = wanting == (Ground.TECHNIQUE_NOT_ASKED,) and step is not None
        return Judgement(Advice.HOLD, (*wanting, *missing), asks_her=only_hers)
    return Judgement(Advice.PROGRESS, (Ground.ALL_MET,), step)


def window(known: Situation, criteria: Criteria) -> adh.Adherence:
    """Adherence over the days that decide: the last weeks on this version."""
    starts_on = known.version.prescription.starts_on if known.version else known.today
    first = max(starts_on, known.today - dt.timedelta(days=criteria.window_days))
    return adh.adherence([day for day in known.days if first <= day.on < known.today])


def _to_talk_about(known: Situation, criteria: Criteria) -> Iterator[Ground]:
    if known.open_signs:
        yield Ground.SIGN_OPEN
    since = known.today - dt.timedelta(weeks=criteria.quiet_weeks.value)
    if any(since < on <= known.today for on in known.signs_on):
        yield Ground.SIGN_NEW
    if known.stopped:
        yield Ground.STOPPED
    if known.silent:
        yield Ground.SILENT


def _against_the_dose(known: Situation, criteria: Criteria) -> Iterator[Ground]:
    yield from (measure.ground for measure in Measure if measure in known.worse)
    if _technique(known, criteria) is Technique.NOT_ALL:
        yield Ground.TECHNIQUE_NOT_ALL


def _technique(known: Situation, criteria: Criteria) -> Technique | None:
    """Her own answer, as long as it holds: about this version, and not too old."""
    told, version = known.technique, known.version
    if told is None or version is None or told.on < version.prescription.starts_on:
        return None
    return None if told.is_stale(known.today, criteria.technique_weeks.value) else told.value


def _short(figures: adh.Adherence, criteria: Criteria) -> bool:
    """Whether too few days were answered to go by."""
    share = figures.answered_share
    return (
        figures.answered_days < criteria.answered_days.value
        or share is None
        or float(share) < criteria.answered_share.value
    )


def _surely_below(figures: adh.Adherence, limit: Figure) -> bool:
    return adh.compare(figures, limit.share) is adh.Standing.BELOW


def _wanting(known: Situation, figures: adh.Adherence, criteria: Criteria) -> Iterator[Ground]:
    version = known.version
    if version and (known.today - version.prescription.starts_on).days < criteria.window_days:
        yield Ground.TOO_SHORT
    if known.paused:
        yield Ground.PAUSED
    if _short(figures, criteria):
        yield Ground.TOO_FEW_ANSWERS
    match adh.compare(figures, criteria.threshold.share):
        case adh.Standing.BELOW:
            yield Ground.BELOW
        case adh.Standing.CANNOT_TELL:
            yield Ground.CANNOT_TELL
        case adh.Standing.ABOVE:
            pass
    match _technique(known, criteria):
        case None:
            yield Ground.TECHNIQUE_NOT_ASKED
        case Technique.UNSURE:
            yield Ground.TECHNIQUE_UNSURE
        case _:
            pass


def _next_step(
    known: Situation, criteria: Criteria, catalogue: Catalogue
) -> tuple[Step | None, tuple[Ground, ...]]:
    """The first step the ladder and her findings allow, or why there is none."""
    if known.version is None:
        return None, ()
    newest = max((finding.on for finding in known.findings if finding.on <= known.today), default=None)
    fresh = newest is not None and not found.Dated(newest, newest).is_stale(
        known.today, criteria.finding_weeks.value
    )
    held_back = False
    for step in steps(known.version.prescription, criteria.harder, catalogue, harder=True):
        if fresh or step.rung is not Rung.POSITION:
            return step, ()
        held_back = True
    return None, (Ground.FINDING_TOO_OLD,) if held_back else (Ground.TOP_OF_LADDER,)


def _eased(
    version: InForce, grounds: tuple[Ground, ...], ladder: Sequence[LadderStep], catalogue: Catalogue
) -> Judgement:
    step = next(steps(version.prescription, ladder, catalogue, harder=False), None)
    return Judgement(Advice.REGRESS, grounds if step else (*grounds, Ground.LOWEST_STEP), step)
