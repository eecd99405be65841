"""The catalogue: complete, in plain words, and a clinic's own file that adds to it."""

import re
from pathlib import Path

import pytest

from bot.domain.exercises import Counted, Exercise, Group, Load
from bot.domain.prescription import Position
from bot.errors import RefusedError
from bot.rules import exercises, rulebook
from tests.rules.checkout import ROOT

CATALOGUE = exercises.load()
EVERY = tuple(CATALOGUE.exercises.values())
OWN = ROOT / "docs/examples/own/clinic.toml"

each = pytest.mark.parametrize("exercise", EVERY, ids=lambda one: one.id)


@pytest.mark.parametrize(
    ("id_", "loads"),
    [
        ("deep-abdominal-hold", ()),
        ("pelvic-floor-long-hold", ()),
        ("pelvic-floor-quick", ()),
        ("pelvic-floor-quick-in-10-s", ()),
        ("both-together", ()),
        ("breathing", ()),
        ("pelvic-floor-let-go", ()),
        ("squeeze-before-effort", ()),
        ("urge-suppression", ()),
        ("walking", ()),
        ("scar-massage", ()),
        ("ball-squeeze", ()),
        ("cat-stretch", ()),
        ("band-pull-apart", (Load.PRESSURE,)),
        ("overhead-band-pull-down", (Load.PRESSURE,)),
        ("four-point-arm-raise", (Load.PRESSURE,)),
        ("bridge-ball-squeeze", (Load.PRESSURE,)),
        ("downward-facing-dog", (Load.RECTUS, Load.PRESSURE)),
        ("heel-lift", (Load.RECTUS, Load.PRESSURE)),
        ("toe-taps", (Load.RECTUS, Load.PRESSURE)),
        ("curl-up", (Load.STRONG_RECTUS, Load.PRESSURE)),
        ("plank", (Load.STRONG_RECTUS, Load.PRESSURE)),
        ("jog-on-the-spot", (Load.IMPACT, Load.PRESSURE)),
        ("small-jumps", (Load.IMPACT, Load.PRESSURE)),
    ],
)
def test_the_exercises_of_the_trade_and_what_they_load(id_: str, loads: tuple[Load, ...]) -> None:
    """Common practice, no source."""
    assert CATALOGUE.exercises[id_].loads == frozenset(loads)


@each
def test_whatever_is_done_lying_says_how_to_get_up(exercise: Exercise) -> None:
    """By rolling to the side (common practice, no source; a hospital booklet, read, has the way in)."""
    lying = {Position.LYING, Position.SIDE_LYING} & set(exercise.positions)
    assert bool(lying) == (exercise.getting_up is not None)
    if exercise.getting_up:
        assert "roll to your side" in exercise.getting_up


@each
def test_positions_are_named_easiest_first(exercise: Exercise) -> None:
    """Lying before sitting before standing (common practice, no source)."""
    steps = [position.step for position in exercise.positions]
    assert steps == sorted(set(steps))
    assert Position.LYING.step < Position.SITTING.step < Position.STANDING.step


@each
def test_cues_are_short_and_plain(exercise: Exercise) -> None:
    for cue in (*exercise.cues, *exercise.stop_if, *([exercise.getting_up] if exercise.getting_up else [])):
        for sentence in re.split(r"(?<=[.!?:])\s+", cue):
            assert len(sentence.split()) <= 15, sentence
        assert cue.isascii()
        assert not re.search(
            r"normal|harmless|no need to|nothing to worry|diagnos|must not|never miss", cue, re.IGNORECASE
        )


@each
def test_effort_goes_with_breathing_and_stops_with_signs(exercise: Exercise) -> None:
    """Breathe out on the effort, never hold the breath; whatever is done, it stops on a sign."""
    said = " ".join(exercise.cues).lower()
    if exercise.loads or exercise.group is Group.CONTRACTIONS:
        assert "breath" in said
    if exercise.loads and Load.IMPACT not in exercise.loads:
        assert "ridge" in said
    signs = " ".join(exercise.stop_if).lower()
    assert all(word in signs for word in ("hurts", "heaviness", "bleed", "dizzy"))


def test_pelvic_floor_work_squeezes_no_buttocks() -> None:
    for exercise in EVERY:
        if exercise.pelvic_floor:
            assert "buttocks" in " ".join(exercise.cues)


@each
def test_every_tool_has_a_stand_in_at_home(exercise: Exercise) -> None:
    assert all(it.thing and it.stand_in and it.thing != it.stand_in for it in exercise.equipment)


@each
def test_relaxation_is_never_strength_and_easier_versions_are_no_harder(exercise: Exercise) -> None:
    if exercise.group is Group.RELAXATION:
        assert not exercise.strength
    if exercise.easier:
        lighter = {Load.RECTUS} if Load.STRONG_RECTUS in exercise.loads else set()
        assert CATALOGUE.exercises[exercise.easier].loads <= exercise.loads | lighter


def test_quick_contractions_are_counted_in_two_ways_that_differ() -> None:
    """One-second squeezes of the PERFECT scheme, and as many as fit in 10 s (common practice, no source)."""
    assert CATALOGUE.exercises["pelvic-floor-quick"].counted is Counted.REPETITIONS
    assert CATALOGUE.exercises["pelvic-floor-quick-in-10-s"].counted is Counted.QUICK_IN_10_S


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("pelvic-flor-long-hold", "pelvic-floor-long-hold"), ("Curlup", "curl-up"), ("xyzzy", None)],
)
def test_the_nearest_exercise(typed: str, meant: str | None) -> None:
    assert CATALOGUE.nearest(typed) == meant


def test_demo_prescriptions_use_exercises_there_are() -> None:
    used = set(
        re.findall(
            r'exercise = "([^"]+)"',
            "".join(
                path.read_text(encoding="utf-8") for path in (ROOT / "demo/prescriptions").glob("*.toml")
            ),
        )
    )
    assert used
    assert used <= CATALOGUE.exercises.keys()


# A clinic's own file


def own(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "own.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_clinic_adds_rewords_and_sets_limits() -> None:
    rules = rulebook.with_own(OWN)
    added = rules.catalogue.exercises["wall-sit"]
    assert added.equipment[0].stand_in == "a closed door"
    assert added.stop_if == CATALOGUE.exercises["walking"].stop_if
    reworded = rules.catalogue.exercises["pelvic-floor-long-hold"]
    ours = CATALOGUE.exercises["pelvic-floor-long-hold"]
    assert reworded.cues[1] == "Hold it there while you talk."
    assert "buttocks" in " ".join(reworded.cues)
    assert (reworded.loads, reworded.stop_if, reworded.title) == (ours.loads, ours.stop_if, ours.title)
    weeks = rules.limits.loads[Load.IMPACT].weeks
    assert (weeks.value, weeks.source) == (20, "our clinic's agreement of January 2026")
    packaged = rulebook.packaged()
    assert rules.limits.loads[Load.RECTUS] == packaged.limits.loads[Load.RECTUS]
    assert packaged.catalogue.exercises["pelvic-floor-long-hold"] == ours


NEW = """
[[exercise]]
id = "leg-slide"
title = "Leg slide"
group = "adjunct"
counted = "repetitions"
positions = ["lying"]
cues = ["Slide one heel away from you."]
"""


def test_a_clinics_exercise_that_is_done_lying_gets_the_advice_on_getting_up(tmp_path: Path) -> None:
    added = rulebook.with_own(own(tmp_path, NEW)).catalogue.exercises["leg-slide"]
    assert added.getting_up == CATALOGUE.exercises["curl-up"].getting_up


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "empty; expected a clinic's own exercises and limits in TOML"),
        (
            "x = ",
            (
                "not TOML (Invalid value (at end of document)); "
                "expected a clinic's own exercises and limits in TOML"
            ),
        ),
        (NEW.replace("leg-slide", "curl-up"), "curl-up: there is an exercise of this id already"),
        (NEW.replace("leg-slide", "Leg slide"), "Leg slide.id: expected letters, digits and hyphens only"),
        (
            NEW.replace('["lying"]', '["sofa"]'),
            (
                "leg-slide.positions.0: Input should be 'lying', 'side-lying', 'four-point', 'sitting' or "
                "'standing'"
            ),
        ),
        (
            NEW.replace('group = "adjunct"', 'group = "contractions"\nloads = ["impact"]'),
            "leg-slide.loads: a contraction loads nothing; expected another group for one that does",
        ),
        (
            NEW.replace('group = "adjunct"', 'group = "relaxation"\nstrength = true'),
            "leg-slide.strength: a relaxation is never made harder and loads nothing",
        ),
        (
            NEW.replace('["lying"]', '["sitting", "lying"]'),
            (
                "leg-slide.positions: expected each once, easiest "
                "first (lying, side-lying, four-point, sitting, standing)"
            ),
        ),
        (
            NEW + 'shared = ["breath"]',
            (
                "leg-slide.shared: breath unknown; known are breathe-out, no-holding, "
                "soft-buttocks, let-go, belly-flat, slow"
            ),
        ),
        (NEW + 'easier = "leg-lift"', "leg-slide.easier: leg-lift is not in the catalogue"),
        (NEW + "positons = 1", "leg-slide.positons: not a field of an exercise; did you mean positions?"),
        (
            NEW.replace('cues = ["Slide one heel away from you."]', ""),
            "leg-slide.cues: missing; expected a value",
        ),
        (
            '[[reword]]\nid = "curlup"\ntitle = "Other"',
            "curlup: not in the catalogue, so it cannot be re-worded; did you mean curl-up?",
        ),
        ('[[reword]]\nid = "curl-up"\nloads = []', "curl-up.loads: not a field of an exercise"),
        ("[limits.gates]\npain = 3", "limits: gates.pain: expected a table of fields"),
        (
            "[limits.gates.loads.impact.weeks]\nvalue = 10",
            "limits: gates.loads.impact.weeks.source: missing; expected a value",
        ),
        (
            '[limits.gates.loads.impact.weeks]\nvalue = 10.5\nsource = "ours"\nsource_read = true',
            "limits: gates.loads.impact.weeks.source: String should have at least 5 characters",
        ),
    ],
)
def test_a_faulty_file_is_told_in_clear_lines(tmp_path: Path, text: str, fault: str) -> None:
    file = own(tmp_path, text)
    with pytest.raises(RefusedError) as refused:
        rulebook.with_own(file)
    assert fault in [line.removeprefix(f"{file}: ") for line in refused.value.faults]


def test_faults_of_all_parts_come_in_one_go(tmp_path: Path) -> None:
    text = NEW + 'easier = "leg-lift"\n[[reword]]\nid = "xx"\ntitle = "Other"\n[limits.dose]\nrest_s = 1\n'
    with pytest.raises(RefusedError) as refused:
        rulebook.with_own(own(tmp_path, text))
    assert len(refused.value.faults) == 3
