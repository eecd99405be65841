"""What to consider: every condition on both sides of its limit, and that nothing is proposed without all."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.domain.adherence import Day, DayState
from bot.domain.findings import Assessed, Dated, Finding, Perfect, Tone
from bot.domain.ladder import Rung
from bot.domain.prescription import InForce
from bot.domain.progress import Advice, Criteria, Ground, Judgement, Measure, Situation, Technique, judge
from bot.rules import rulebook
from tests.fixtures.plans import holds, plan

RULES = rulebook.packaged()
TODAY = dt.date(2026, 6, 22)
SEEN = Finding(
    on=TODAY - dt.timedelta(weeks=4),
    contraction=Assessed.YES,
    full_release=Assessed.YES,
    how="palpation",
    tone=Tone.NORMAL,
    pain_on_contraction=False,
    perfect=Perfect(3, 6, 8, 10),
)


def ago(days: int) -> dt.date:
    return TODAY - dt.timedelta(days=days)


def days(letters: str) -> tuple[Day, ...]:
    """The days up to yesterday: a digit is a count of three, `?` no answer, `p` a pause."""
    return tuple(
        Day(
            ago(len(letters) - n),
            3,
            int(letter) if letter.isdigit() else None,
            DayState.PAUSED if letter == "p" else DayState.ACTIVE,
        )
        for n, letter in enumerate(letters)
    )


READY = Situation(
    today=TODAY,
    version=InForce(1, plan(holds(8, 6, 12), starts_on=ago(21))),
    days=days("3" * 21),
    findings=(SEEN,),
    technique=Dated(ago(2), Technique.ALL),
)


def judged(known: Situation, criteria: Criteria = RULES.criteria) -> Judgement:
    found = judge(known, criteria, RULES.catalogue)
    assert found is not None
    return found


def seen(**changed: object) -> tuple[Finding, ...]:
    return (replace(SEEN, **changed),)  # type: ignore[arg-type] # a test's own fields


def test_when_everything_holds_one_step_is_proposed() -> None:
    found = judged(READY)
    assert (found.advice, found.grounds) == (Advice.PROGRESS, (Ground.ALL_MET,))
    assert found.step is not None
    assert (found.step.rung, found.step.before, found.step.after) == (Rung.HOLD, 6, 7)


def test_without_a_version_in_force_nothing_is_said() -> None:
    assert judge(replace(READY, version=None), RULES.criteria, RULES.catalogue) is None


@pytest.mark.parametrize(
    ("known", "advice", "grounds"),
    [
        # A person first: nothing is said about the dose.
        (replace(READY, open_signs=1), Advice.TALK_FIRST, [Ground.SIGN_OPEN]),
        (replace(READY, signs_on=(ago(13),)), Advice.TALK_FIRST, [Ground.SIGN_NEW]),
        (replace(READY, stopped=True), Advice.TALK_FIRST, [Ground.STOPPED]),
        (replace(READY, silent=True), Advice.TALK_FIRST, [Ground.SILENT]),
        # Her findings.
        (replace(READY, findings=()), Advice.HOLD, [Ground.CONTRACTION_NOT_CONFIRMED]),
        (
            replace(READY, findings=seen(contraction=Assessed.NOT_ASSESSED)),
            Advice.HOLD,
            [Ground.CONTRACTION_NOT_CONFIRMED],
        ),
        (replace(READY, findings=seen(full_release=Assessed.NO)), Advice.HOLD, [Ground.RELEASE_NOT_FULL]),
        (replace(READY, findings=seen(tone=Tone.RAISED)), Advice.HOLD, [Ground.RAISED_TONE]),
        (replace(READY, findings=seen(pain_on_contraction=True)), Advice.HOLD, [Ground.PAIN_ON_CONTRACTION]),
        (replace(READY, findings=seen(perfect=Perfect(1, 2, 2, 2))), Advice.HOLD, [Ground.TOO_WEAK]),
        # Too much.
        (replace(READY, worse=frozenset({Measure.LEAKS})), Advice.REGRESS, [Ground.LEAKS_WORSE]),
        (
            replace(READY, technique=Dated(ago(2), Technique.NOT_ALL)),
            Advice.REGRESS,
            [Ground.TECHNIQUE_NOT_ALL],
        ),
        (replace(READY, days=days("1" * 21)), Advice.REGRESS, [Ground.FAR_BELOW]),
        # Not yet.
        (
            replace(READY, version=InForce(1, plan(holds(8, 6, 12), starts_on=ago(13)))),
            Advice.HOLD,
            [Ground.TOO_SHORT],
        ),
        (replace(READY, paused=True), Advice.HOLD, [Ground.PAUSED]),
        (replace(READY, days=days("3" * 7 + "2" * 14)), Advice.HOLD, [Ground.BELOW]),
        (replace(READY, days=days("3" * 17 + "1110")), Advice.HOLD, [Ground.BELOW]),
        (replace(READY, technique=None), Advice.HOLD, [Ground.TECHNIQUE_NOT_ASKED]),
        (replace(READY, technique=Dated(ago(15), Technique.ALL)), Advice.HOLD, [Ground.TECHNIQUE_NOT_ASKED]),
        (replace(READY, technique=Dated(ago(2), Technique.UNSURE)), Advice.HOLD, [Ground.TECHNIQUE_UNSURE]),
    ],
)
def test_one_condition_that_does_not_hold(known: Situation, advice: Advice, grounds: list[Ground]) -> None:
    found = judged(known)
    assert (found.advice, list(found.grounds)) == (advice, grounds)


@pytest.mark.parametrize(
    "known",
    [
        replace(READY, signs_on=(ago(14),)),
        replace(READY, version=InForce(1, plan(holds(8, 6, 12), starts_on=ago(14)))),
        replace(READY, technique=Dated(ago(14), Technique.ALL)),
        replace(READY, days=days("3" * 7 + "22222222" + "333333")),
        replace(READY, days=days("3" * 17 + "1111")),  # 34 of 42, and four fifths are 33.6
    ],
)
def test_on_the_limit_it_holds(known: Situation) -> None:
    assert judged(known).advice is Advice.PROGRESS


def test_where_the_threshold_lies_between_the_bounds_it_cannot_be_told() -> None:
    """10 of 14 answered in full: 30 to 42 of 42 sets, and four fifths are 33.6."""
    found = judged(replace(READY, days=days("3" * 7 + "3333333333????")))
    assert (found.advice, list(found.grounds)) == (Advice.HOLD, [Ground.CANNOT_TELL])


def test_too_few_answers_are_never_read_as_little_done() -> None:
    """Three days of none and no other answer: at most 33 of 42, yet nothing is said of an easier step."""
    found = judged(replace(READY, days=days("3" * 7 + "000???????????")))
    assert found.advice is Advice.HOLD
    assert Ground.TOO_FEW_ANSWERS in found.grounds


def test_paused_days_are_outside_the_count() -> None:
    found = judged(replace(READY, days=days("3" * 7 + "ppppppp3333333")))
    assert found.advice is Advice.PROGRESS
    short = judged(replace(READY, days=days("3" * 7 + "pppppppp333333")))
    assert (short.advice, list(short.grounds)) == (Advice.HOLD, [Ground.TOO_FEW_ANSWERS])


def test_her_own_answer_is_asked_only_when_everything_else_holds() -> None:
    wanting = replace(READY, technique=None)
    assert judged(wanting).asks_her
    for spoiled in (
        replace(wanting, open_signs=1),
        replace(wanting, findings=()),
        replace(wanting, days=days("2" * 21)),
        replace(wanting, version=InForce(1, plan(holds(8, 6, 12), starts_on=ago(13)))),
        replace(wanting, paused=True),
    ):
        assert not judged(spoiled).asks_her


def test_an_answer_about_an_earlier_version_does_not_count() -> None:
    version = InForce(2, plan(holds(8, 7, 12), starts_on=ago(14)))
    found = judged(replace(READY, version=version, technique=Dated(ago(15), Technique.ALL)))
    assert list(found.grounds) == [Ground.TECHNIQUE_NOT_ASKED]


def test_a_position_needs_a_finding_of_the_last_six_weeks() -> None:
    top = InForce(1, plan(holds(12, 10, 12), starts_on=ago(21)))
    fresh = judged(replace(READY, version=top, findings=seen(on=ago(42))))
    assert fresh.step is not None
    assert fresh.step.rung is Rung.POSITION
    old = judged(replace(READY, version=top, findings=seen(on=ago(43))))
    assert old.step is not None
    assert old.step.rung is Rung.SETS
    four = plan(
        holds(12, 10, 12), starts_on=ago(21), sets_a_day=4, nudge_times=tuple(map(dt.time, (8, 11, 14, 17)))
    )
    none = judged(replace(READY, version=InForce(1, four), findings=seen(on=ago(43))))
    assert (none.advice, list(none.grounds), none.step) == (Advice.HOLD, [Ground.FINDING_TOO_OLD], None)


def test_a_worse_symptom_and_a_plan_that_does_not_fit_are_both_told() -> None:
    found = judged(replace(READY, worse=frozenset({Measure.PAIN}), days=days("1" * 21)))
    assert list(found.grounds) == [Ground.PAIN_WORSE, Ground.FAR_BELOW]
    assert found.step is not None
    assert found.step.rung is Rung.HOLD


def test_a_plan_that_does_not_fit_loses_a_set_first() -> None:
    found = judged(replace(READY, days=days("1" * 21)))
    assert found.step is not None
    assert (found.step.rung, found.step.before, found.step.after) == (Rung.SETS, 3, 2)


@settings(max_examples=200)
@given(
    letters=st.text("0123?p", min_size=0, max_size=30),
    open_signs=st.integers(0, 1),
    on_version=st.integers(0, 40),
    technique=st.sampled_from([None, *Technique]),
    told=st.integers(0, 40),
    confirmed=st.sampled_from([None, *Assessed]),
    worse=st.frozensets(st.sampled_from(Measure)),
)
def test_nothing_is_proposed_unless_everything_holds(
    letters: str,
    open_signs: int,
    on_version: int,
    technique: Technique | None,
    told: int,
    confirmed: Assessed | None,
    worse: frozenset[Measure],
) -> None:
    known = Situation(
        today=TODAY,
        version=InForce(1, plan(holds(8, 6, 12), starts_on=ago(on_version))),
        days=days(letters),
        findings=(replace(SEEN, contraction=confirmed),),
        open_signs=open_signs,
        worse=worse,
        technique=None if technique is None else Dated(ago(told), technique),
    )
    found = judged(known)
    assert found.grounds
    if found.advice is Advice.PROGRESS:
        assert on_version >= 14
        assert not open_signs
        assert not worse
        assert confirmed is Assessed.YES
        assert technique is Technique.ALL
        done = sum(int(day.reported or 0) for day in known.days[-14:] if day.due)
        due = sum(3 for day in known.days[-14:] if day.due)
        assert 5 * done >= 4 * due > 0
    if found.advice in {Advice.TALK_FIRST, Advice.HOLD}:
        assert found.step is None
