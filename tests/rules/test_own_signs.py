"""A clinic's own warning signs: raised, added to, worded otherwise; lowered only with a reason and a name."""

import dataclasses
import json
from pathlib import Path

import pytest

from bot.conversation.copy import en_advice
from bot.domain import warning_signs
from bot.domain.levels import Level
from bot.domain.warning_signs import Route
from bot.errors import RefusedError
from bot.rules import in_force, own_signs, signs
from tests.rules.checkout import ROOT

TODAY = en_advice.SENTENCES["advice.clinician_today"]


@pytest.fixture
def own(tmp_path: Path) -> Path:
    return tmp_path / "own.toml"


def faults_of(path: Path, text: str) -> list[str]:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RefusedError) as caught:
        own_signs.load(path)
    return [fault.removeprefix(f"{path}: ") for fault in caught.value.faults]


def test_without_a_file_the_packaged_rules_are_in_force() -> None:
    found = own_signs.load(None)
    assert found.rules is signs.load()
    assert (found.advice, found.lowered, found.changed, found.text) == ({}, (), frozenset(), "")


def test_a_level_is_raised_phrases_added_advice_worded_otherwise(own: Path) -> None:
    words = TODAY.replace("or your doctor", "or your own doctor")
    own.write_text(
        '[[level]]\nsign = "doming"\nlevel = "same_day"\n'
        '[[phrases]]\nsign = "bleed_heavy"\nphrases = ["flooded ~2 quay"]\n'
        f"[advice]\n{json.dumps('advice.clinician_today')} = {json.dumps(words)}\n",
        encoding="utf-8",
    )
    found = own_signs.load(own)
    before = warning_signs.hear("a ridge pops up down my tummy when i sit up", signs.load())
    after = warning_signs.hear("a ridge pops up down my tummy when i sit up", found.rules)
    assert (before.level, after.level) == (Level.THERAPIST, Level.SAME_DAY)
    assert after.heard[0].route is Route.CLINICIAN_TODAY
    heard = warning_signs.hear("i flooded the whole quay", found.rules)
    assert (heard.level, heard.heard[0].sign) == (Level.EMERGENCY, "bleed_heavy")
    assert warning_signs.hear("i flooded the whole quay", signs.load()).level is None
    assert found.advice == {"advice.clinician_today": words}
    assert found.changed == {"doming", "bleed_heavy"}


def test_an_emergency_is_lowered_only_with_reason_and_name(own: Path) -> None:
    lower = '[[level]]\nsign = "bleed_heavy"\nlevel = "same_day"\nroute = "clinician_today"\n'
    assert faults_of(own, lower) == [
        "level.bleed_heavy.reason: missing; lowering bleed_heavy from emergency needs a reason and a name",
        "level.bleed_heavy.name: missing; lowering bleed_heavy from emergency needs a reason and a name",
    ]
    own.write_text(f'{lower}reason = "Ward next door"\nname = "Dr Invented"\n', encoding="utf-8")
    (lowered,) = own_signs.load(own).lowered
    assert dataclasses.astuple(lowered) == (
        "bleed_heavy",
        Level.EMERGENCY,
        Level.SAME_DAY,
        "Ward next door",
        "Dr Invented",
    )
    heard = warning_signs.hear("I soaked two pads in an hour", own_signs.load(own).rules)
    assert heard.level is Level.SAME_DAY


def test_all_faults_come_in_one_go(own: Path) -> None:
    """Faults of shape and of meaning together, each with its place."""
    text = """
[[level]]
sign = "domming"
level = "same_day"
[[level]]
sign = "leak_worse"
level = "soon"
[[level]]
sign = "prolapse_new"
level = "emergency"
[[phrases]]
sign = "doming"
phrases = ["ridge ~3 |", "fine words"]
colour = "red"
[advice]
"advice.therapist" = "Your pelvic floor is fine."
"advice.nobody" = "x"
"""
    found = faults_of(own, text)
    assert [fault.partition(": ")[0] for fault in found] == [
        "level.leak_worse.level",
        "phrases.doming.colour",
        "level.domming.sign",
        "level.prolapse_new.route",
        "advice.advice.therapist",
        "advice.advice.therapist",
        "advice.advice.therapist",
        "advice.advice.therapist",
        "advice.advice.nobody",
    ]
    assert "did you mean doming?" in found[2]
    assert "{emergency_number} is missing" in found[4]
    assert found[7].endswith("expected it after the first 160 characters")


def test_a_phrase_out_of_notation_names_its_place(own: Path) -> None:
    found = faults_of(own, '[[phrases]]\nsign = "doming"\nphrases = ["ridge again", "ridge ~3 |"]\n')
    assert len(found) == 1
    assert found[0].startswith("phrases.doming.phrases.2: ")


@pytest.mark.parametrize("text", ["", "level = 3", "[[level]]\nsign = 3", "\x00", "level = [[[["])
def test_a_broken_file_is_refused_in_words(own: Path, text: str) -> None:
    for fault in faults_of(own, text):
        assert fault
        assert len(fault) < 300


def test_its_shape_is_published() -> None:
    assert set(own_signs.schema()["properties"]) == {"level", "phrases", "advice"}


def test_every_change_changes_the_digest(own: Path) -> None:
    """Of the rules, of the clinic's file, of one letter of advice; the parts say where."""
    packaged = in_force.contents(own_signs.load(None))
    own.write_text('[[level]]\nsign = "doming"\nlevel = "same_day"\n', encoding="utf-8")
    changed = in_force.contents(own_signs.load(own))
    assert changed.digest != packaged.digest
    assert changed.changed(packaged.parts) == ("the clinic's own file",)
    assert packaged.changed(packaged.parts) == ()


def test_a_changed_sentence_changes_the_digest(monkeypatch: pytest.MonkeyPatch) -> None:
    before = in_force.contents(own_signs.load(None))
    monkeypatch.setitem(en_advice.SENTENCES, "advice.therapist", "x")
    monkeypatch.setattr("bot.conversation.copy.as_written", lambda _, key: en_advice.SENTENCES.get(key, ""))
    assert "advice texts" in in_force.contents(own_signs.load(None)).changed(before.parts)


def test_a_changed_rule_file_changes_the_digest(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    before = in_force.contents(own_signs.load(None))
    for file in signs.FOLDER.glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        (tmp_path / file.name).write_text(
            f"{text}\n" if file.name == "slips.toml" else text, encoding="utf-8"
        )
    monkeypatch.setattr("bot.rules.signs.FOLDER", tmp_path)
    assert in_force.contents(own_signs.load(None)).changed(before.parts) == ("warning signs",)


def test_the_statement_of_intended_use_stands_in_the_docs_too() -> None:
    text = in_force.intended_use()
    assert text == (ROOT / "docs/intended-use.md").read_text(encoding="utf-8")
    assert "has not been assessed or registered as a medical device" in " ".join(text.split())
    assert "not a medical device" not in " ".join(text.split()).replace("registered as a medical device", "")
