"""A prescription in words for the therapist: every phrase is said, and what a change reads like."""

import ast
import datetime as dt
import re
from dataclasses import replace

import pytest

from bot.conversation import prescribing_words as words
from bot.conversation.copy.en_prescribing import PHRASES
from bot.domain import dose, gating
from bot.domain.changes import Change, Changed, changes
from bot.domain.dose import DoseNote, FloorCounts, NoDose, NotProposed
from bot.domain.exercises import Counted, Load
from bot.domain.findings import Assessed, Birth, Perfect, Unit
from bot.domain.gating import Clearance, Condition, GateState, Lack, Reason, Record
from bot.domain.prescription import Adjunct, Contractions, Position
from tests.fixtures.plans import BORN, RULES, START, distance, fit_record, holds, plan, released, well
from tests.rules.checkout import ROOT

CATALOGUE = RULES.catalogue
BRIDGE = Adjunct("bridge-ball-squeeze", Position.LYING, repetitions=10)


def test_the_change_of_a_step() -> None:
    after = plan(replace(holds(8, 8, 5), position=Position.SITTING))
    assert words.changes(changes(plan(holds(8, 5, 5)), after), CATALOGUE) == (
        "Pelvic-floor long hold: hold 5 s -> 8 s; sitting instead of lying",
    )


def test_changes_of_every_kind() -> None:
    before = plan(
        holds(8, 5, 5),
        holds(6, 5, 5, "both-together"),
        adjuncts=(BRIDGE, Adjunct("walking", Position.STANDING, minutes=10)),
    )
    after = plan(
        replace(holds(10, 5, 6), days=frozenset({0, 2}), easier_position=Position.LYING),
        Contractions("pelvic-floor-quick-in-10-s", 7, 1, 0, Position.LYING),
        adjuncts=(
            replace(BRIDGE, times_a_day=2, repetitions=12, hold_s=70),
            Adjunct("walking", Position.STANDING, minutes=15, days=frozenset({6})),
            Adjunct("urge-suppression", Position.STANDING),
        ),
        sets_a_day=2,
        days=frozenset({0, 1, 2}),
        pause_s=90,
        nudge_times=(dt.time(9), dt.time(18)),
        quiet_from=dt.time(22),
        round_up_at=dt.time(19, 30),
        check_in_day=0,
        check_in_questions=(),
        review_on=dt.date(2026, 8, 1),
    )
    assert words.changes(changes(before, after), CATALOGUE) == (
        (
            "Pelvic-floor long hold: repetitions 8 -> 10; rest 5 s -> 6 s; "
            "late in the day lying instead of the same position; on Mon, Wed instead of every day"
        ),
        "Pelvic floor and deep abdominals together: no longer",
        "Pelvic-floor quick contractions in ten seconds: new, as many as fit in 10 s (counted: 7), lying",
        (
            "Bridge with ball squeeze: twice a day instead of once a day; repetitions 10 -> 12; "
            "hold none -> 1 min 10 s"
        ),
        "Walking: minutes 10 -> 15; on Sun instead of every day",
        "Riding out an urge: new, standing, once a day",
        (
            "sets a day 3 -> 2; on Mon, Tue, Wed instead of every day; "
            "pause between exercises 0 s -> 1 min 30 s; "
            "nudges at 09:00, 18:00 instead of 08:30, 13:00, 18:30; check-in on Mon instead of Sun; "
            "check-in asks none instead of leaks, heaviness; review on 2026-08-01 instead of 2026-07-13; "
            "quiet hours 22:00 to 07:30 instead of 21:00 to 07:30; evening question at 19:30 instead of 20:00"
        ),
    )
    assert words.changes(changes(before, before), CATALOGUE) == ("nothing but the start",)


@pytest.mark.parametrize("changed", Changed)
def test_every_kind_of_change_has_words(changed: Changed) -> None:
    assert words.changes([Change(changed, None, None, "walking")], CATALOGUE)[0].startswith("Walking: ")


POSSIBLE = [
    Reason(Condition.PREGNANCY, Lack.NOT_MET, found_on=START),
    Reason(Condition.SIGN, Lack.NOT_MET, found_on=START, sign="exercise_pain"),
    *(
        Reason(condition, lack, limit=RULES.limits.pain, found=3, found_on=START)
        for condition in (Condition.BLEEDING, Condition.HEAVINESS, Condition.PAIN, Condition.DOMING)
        for lack in Lack
    ),
    Reason(Condition.PAIN, Lack.NOT_MET, found_on=START),
    Reason(Condition.CLEARANCE, Lack.NOT_RECORDED, tuple(Load)),
    Reason(Condition.CLEARANCE, Lack.NOT_RECORDED, tuple(Load), earliest_on=START),
    Reason(Condition.WEEKS, Lack.NOT_MET, (), START, RULES.limits.pain, 9, BORN),
    Reason(Condition.DISTANCE, Lack.NOT_RECORDED),
    *(
        Reason(
            Condition.DISTANCE,
            lack,
            limit=RULES.limits.pain,
            found_on=START,
            distance=distance(START, 3, unit),
        )
        for lack in (Lack.STALE, Lack.NOT_MET)
        for unit in Unit
    ),
    Reason(Condition.IMPACT_SCREEN, Lack.NOT_RECORDED),
    Reason(Condition.IMPACT_SCREEN, Lack.NOT_MET, found_on=START),
]


@pytest.mark.parametrize("why", POSSIBLE)
def test_every_reason_has_words_without_holes(why: Reason) -> None:
    assert "None" not in words.reason(why)


def test_the_reasons_of_every_record_have_words() -> None:
    """Those that the gates really give, on a few records, so that none is missing above."""
    given = {
        (why.condition, why.lack)
        for record in (
            Record(),
            fit_record(birth=Birth(START), pregnant_since_on=START),
            fit_record(BORN),
            fit_record(findings=(well(START, 4, impact_screen=False, pain_on_contraction=True),)),
            fit_record(clearances=(Clearance("GP", START + dt.timedelta(days=1), frozenset(Load)),)),
        )
        for decision in gating.gates(CATALOGUE, record, START, RULES.limits)
        for why in decision.reasons
        if words.reason(why)
    }
    assert given <= {(why.condition, why.lack) for why in POSSIBLE}
    assert len(given) >= 12


def test_a_limit_is_shown_with_its_source() -> None:
    record = fit_record(birth=Birth(START - dt.timedelta(weeks=15)))
    decision = gating.decide(CATALOGUE.exercises["curl-up"], record, START, RULES.limits)
    assert words.reasons(decision) == (
        "15 whole weeks since birth, 16 wanted, so from 2026-06-08 "
        "[common practice, no source; no published week was found]"
    )


def test_where_exercises_stand() -> None:
    record = fit_record(
        findings=(well(START, heaviness=1),),
        releases=(released("bridge-ball-squeeze", START, Condition.HEAVINESS),),
    )
    lines = words.standing(gating.gates(CATALOGUE, record, START, RULES.limits), CATALOGUE)
    assert lines[0].startswith("only to be prescribed: Deep-abdominal draw-in, ")
    assert lines[1] == (
        "released against the gate: Bridge with ball squeeze, on 2026-06-01 by T1: seen in the room; "
        "set aside: heaviness 1 of 10 on 2026-06-01, at most 0 wanted [common practice, no source]"
    )
    assert lines[2].startswith("not yet: Band pull-apart, ")
    assert len(lines) == 3
    ready = words.gates(gating.gates(CATALOGUE, fit_record(), START, RULES.limits), CATALOGUE)
    assert [line.partition(":")[0] for line in ready] == ["ready for you to review, not released"]
    one = words.gates(
        gating.gates(CATALOGUE, fit_record(releases=(released("curl-up"),)), START, RULES.limits), CATALOGUE
    )
    assert one[0] == "released: Curl-up, on 2026-06-01 by T1: seen in the room"


def test_a_proposal_names_its_source_and_a_refusal_its_reasons() -> None:
    finding = replace(well(START), contraction=Assessed.YES, perfect=Perfect(3, 5, 4, 7))
    made = dose.propose([finding], START, RULES.figures)
    assert words.proposal(made, CATALOGUE, RULES.figures) == (
        (
            "proposed from 3/5/4//7 of 2026-06-01: 3 sets a day of "
            "Pelvic-floor long hold: 4 x 5 s, rest 4 s, lying; "
            "Pelvic-floor quick squeezes: 7 x 1 s, rest 1 s, lying; 1 min between them "
            "[Laycock & Jerwood 2001, Physiotherapy 87:631 (from memory)]"
        ),
        "note: full release not assessed",
        "note: resting tone not recorded",
    )
    refused = NotProposed((NoDose.RAISED_TONE, NoDose.PAIN_ON_CONTRACTION))
    assert words.proposal(refused, CATALOGUE, RULES.figures) == (
        "no dose proposed: raised resting tone; pain on contraction",
    )


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0 s"), (59, "59 s"), (60, "1 min"), (132, "2 min 12 s"), (816, "13 min 36 s")]
)
def test_durations(seconds: int, text: str) -> None:
    assert words.duration(seconds) == text


def test_every_member_of_a_closed_set_has_its_phrase() -> None:
    keys = {f"load.{load.value}" for load in Load} | {f"counted.{counted.value}" for counted in Counted}
    keys |= {f"no.{reason.value}" for reason in NoDose} | {f"note.{note.value}" for note in DoseNote}
    keys |= {f"floor.{counts.value}" for counts in FloorCounts} | {f"changed.{one.value}" for one in Changed}
    keys |= {f"refused.{state.value}" for state in GateState if state is not GateState.ALLOWED}
    assert keys <= PHRASES.keys()


def test_every_phrase_is_said_somewhere() -> None:
    """One that nothing says is dead. A name that is put together counts where its first part is."""
    said: set[str] = set()
    for path in ("bot/conversation/prescribing_words.py", "bot/rules/prescription_check.py"):
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                said.add(re.escape(node.value))
            elif isinstance(node, ast.JoinedStr):
                parts = (str(p.value) if isinstance(p, ast.Constant) else "\0" for p in node.values)
                said.add(re.escape("".join(parts)).replace("\0", r"[\w.-]+"))
    assert [key for key in PHRASES if not any(re.fullmatch(shape, key) for shape in said)] == []


def test_no_phrase_reassures_or_blames() -> None:
    found = re.compile(r"nothing to worry|harmless|no need to|low adherence|non-?compli")
    assert [phrase for phrase in PHRASES.values() if found.search(phrase)] == []
