"""The warning rules as files: each level beside its source, and faults named by file, sign and field."""

import json
from pathlib import Path

import pytest

from bot.domain.levels import Level
from bot.domain.warning_scope import Denial
from bot.domain.warning_signs import Handling, Route
from bot.errors import RefusedError
from bot.rules import sign_files, signs

RULES = signs.load()
E, S, T, R = Level.EMERGENCY, Level.SAME_DAY, Level.THERAPIST, Level.NEXT_REVIEW
A, D, C = Route.AMBULANCE, Route.EMERGENCY_DEPARTMENT, Route.CLINICIAN_TODAY

# The level of each sign with the words by which its source is named, and whether that source was read or is
# quoted from memory. The split into emergency and same day is ours, the strictest of the published ones; a
# clinician signs it off.
LEVELS = (
    ("bleed_heavy", E, A, "CDC", "read"),
    ("bleed_increasing", S, C, "NG194", "read"),
    ("chest_breath", E, A, "CDC", "read"),
    ("leg_clot", E, D, "NHS texts", "read"),
    ("headache_severe", E, D, "CDC", "read"),
    ("vision_change", E, D, "CDC", "read"),
    ("swelling_face_hands", S, C, "CDC", "read"),
    ("bp_high", E, D, "NG133", "from memory"),
    ("seizure_collapse", E, A, "CDC", "read"),
    ("sepsis", E, A, "NG51", "read"),
    ("fever", S, C, "HSE", "read"),
    ("discharge_smell", S, C, "CDC", "read"),
    ("wound_infection", S, C, "NHS booklet", "read"),
    ("mastitis", S, C, "NG194", "from memory"),
    ("belly_severe", E, D, "CDC", "read"),
    ("vomit_severe", S, C, "CDC", "read"),
    ("self_harm", E, Route.CRISIS_LINE, "NG225", "read"),
    ("harm_baby", E, Route.CRISIS_LINE, "CDC", "read"),
    ("psychosis", E, A, "Royal College of Psychiatrists", "read"),
    ("low_mood", S, C, "CG192", "from memory"),
    ("cauda_equina", E, D, "UK national pathway", "read"),
    ("retention", E, D, "guideline 41", "read"),
    ("uti", S, C, "NHS pages", "read"),
    ("bowel_control_new", T, Route.THERAPIST, "RCOG", "read"),
    ("prolapse_new", T, Route.THERAPIST, "NHS pages", "read"),
    ("leak_worse", T, Route.THERAPIST, "no source", "from memory"),
    ("exercise_pain", T, Route.THERAPIST, "NG210", "read"),
    ("exercise_unwell", S, C, "ACOG", "read"),
    ("doming", T, Route.THERAPIST, "no source", "from memory"),
    ("exhaustion", S, C, "CDC", "read"),
    ("pregnant_again", T, Route.THERAPIST, "no source", "from memory"),
    ("unsafe_home", S, Route.SAFEGUARDING, "NG194", "read"),
    ("baby_unwell", E, Route.BABY_ADVICE, "NHS trust page", "read"),
    ("loss", S, Route.THERAPIST, "no source", "from memory"),
    ("technique_doubt", R, Route.THERAPIST, "no source", "from memory"),
    ("unwell_unclear", S, C, "NG194", "from memory"),
)


@pytest.mark.parametrize(("sign_id", "level", "route", "source", "known_by"), LEVELS)
def test_level_and_source(sign_id: str, level: Level, route: Route, source: str, known_by: str) -> None:
    sign = RULES.signs[sign_id]
    assert (sign.level, sign.route) == (level, route)
    assert source in sign.source
    assert sign.source_read == (known_by == "read")


def test_every_sign_is_held_against_its_source() -> None:
    assert {row[0] for row in LEVELS} == set(RULES.signs)


def test_what_a_later_no_does_not_lower() -> None:
    kept = {sign.id for sign in RULES.signs.values() if sign.never_lowered}
    assert kept == {"self_harm", "harm_baby", "psychosis", "unsafe_home", "cauda_equina"}


def test_what_is_sensitive_and_what_pauses() -> None:
    by_handling = {
        handling: {sign.id for sign in RULES.signs.values() if sign.handling is handling}
        for handling in (Handling.SENSITIVE, Handling.SAFEGUARDING)
    }
    assert by_handling == {
        Handling.SENSITIVE: {"low_mood", "loss"},
        Handling.SAFEGUARDING: {"self_harm", "harm_baby", "psychosis", "unsafe_home"},
    }
    assert all(sign.pauses_nudges for sign in RULES.signs.values() if sign.level is E)
    assert not any(sign.pauses_nudges for sign in RULES.signs.values() if sign.level is R)


def test_self_harm_is_never_denied_away() -> None:
    for sign_id in ("self_harm", "harm_baby", "unsafe_home"):
        for (level, _), left in RULES.signs[sign_id].lowered.items():
            if level in {sayings.level for sayings in RULES.signs[sign_id].sayings}:
                assert left is not None
                assert left.rank <= T.rank


def test_a_denial_never_raises() -> None:
    for sign in RULES.signs.values():
        assert set(sign.lowered) == {(level, denial) for level in Level for denial in Denial}
        assert all(left is None or left.rank >= level.rank for (level, _), left in sign.lowered.items())


def test_every_emergency_sends_to_someone_who_answers_now() -> None:
    for sign in RULES.signs.values():
        for saying in sign.sayings:
            if saying.level is E:
                assert saying.route not in {Route.CLINICIAN_TODAY, Route.THERAPIST}


def test_the_schema_can_be_published() -> None:
    schema = json.loads(json.dumps(sign_files.schema()))
    sign = schema["$defs"]["SignEntry"]
    assert schema["additionalProperties"] is False
    assert sign["additionalProperties"] is False
    assert {"id", "title", "level", "route", "stops", "pauses_nudges", "source", "says"} <= set(
        sign["required"]
    )
    assert schema["$defs"]["Level"]["enum"] == [level.value for level in Level]


# Faults

SIGN = """
[[sign]]
id = "itch"
title = "An itch"
level = "therapist"
route = "therapist"
stops = "nothing"
pauses_nudges = false
source = "Common practice, no source"
source_read = false
[[sign.says]]
phrases = ["itch"]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The language of the rules in force with one sign of our own, to be spoilt."""
    for path in signs.FOLDER.glob("*.toml"):
        if not path.name.startswith(("signs_", "combinations")):
            (tmp_path / path.name).write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "more.toml").write_text(SIGN, encoding="utf-8")
    return tmp_path


def test_one_more_sign(folder: Path) -> None:
    assert signs.load_folder(folder).signs["itch"].title == "An itch"


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ('level = "therapist"', 'level = "soon"', ("more.toml", "itch.level")),
        ('stops = "nothing"', 'halts = "nothing"', ("more.toml", "itch.halts", "itch.stops")),
        ('phrases = ["itch"]', 'phrases = ["itch ~ $ more"]', ("more.toml", "itch", "phrases", "$")),
        ('phrases = ["itch"]', 'phrases = ["@nowhere"]', ("more.toml", "itch", "nowhere")),
        ('phrases = ["itch"]', "phrases = []", ("more.toml", "itch.says.0.phrases")),
        ('id = "itch"', 'id = "Itch it"', ("more.toml", "id")),
        (
            "source_read = false",
            "source_read = false\nlowered = {over = {therapist = 'emergency'}}",
            ("itch", "raise"),
        ),
        (
            "source_read = false",
            "source_read = false\nlowered = {over = {therapist = 'low'}}",
            ("more.toml", "low"),
        ),
        ("[[sign]]", "[[sign", ("more.toml",)),
    ],
)
def test_a_fault_names_file_sign_and_field(
    folder: Path, before: str, after: str, told: tuple[str, ...]
) -> None:
    (folder / "more.toml").write_text(SIGN.replace(before, after, 1), encoding="utf-8")
    with pytest.raises(RefusedError) as caught:
        signs.load_folder(folder)
    for word in told:
        assert word in str(caught.value)


def test_an_id_used_twice_names_both_files(folder: Path) -> None:
    (folder / "other.toml").write_text(SIGN, encoding="utf-8")
    with pytest.raises(RefusedError, match=r"other\.toml: itch: id: used twice, see more\.toml"):
        signs.load_folder(folder)


def test_a_combination_of_an_unknown_sign_is_refused(folder: Path) -> None:
    together = '[[combination]]\ntogether = ["itch", "rash"]\nsign = "itch"\n'
    text = together + 'level = "same_day"\nroute = "therapist"\n'
    (folder / "other.toml").write_text(text, encoding="utf-8")
    with pytest.raises(RefusedError, match="combinations: rash: there is no such sign"):
        signs.load_folder(folder)


def test_all_faulty_files_are_told_at_once(folder: Path) -> None:
    (folder / "more.toml").write_text("x = 1", encoding="utf-8")
    (folder / "other.toml").write_text("y = 1", encoding="utf-8")
    with pytest.raises(RefusedError) as caught:
        signs.load_folder(folder)
    assert [fault.split(":")[0] for fault in caught.value.faults] == ["more.toml", "other.toml"]


def test_an_empty_folder_is_no_rule_set(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match="no rule files"):
        signs.load_folder(tmp_path)


def test_a_missing_part_is_named(folder: Path) -> None:
    (folder / "rules.toml").unlink()
    with pytest.raises(RefusedError, match="version, language"):
        signs.load_folder(folder)


def test_the_version_goes_with_the_rules() -> None:
    assert signs.load() is RULES
    assert RULES.version.count(".") == 1
    assert RULES.language == "en"
