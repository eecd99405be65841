"""The second ear: what adds up, what silences it, and that it never says it is sure."""

import dataclasses

import pytest

from bot.domain import warning_leaning, warning_match
from bot.domain.levels import Level
from bot.domain.warning_leaning import Leaning
from bot.domain.warning_signs import hear, sentence_clues
from bot.rules import signs
from tests.corpora import learn_leaning, signs_table

RULES = signs.load()


def test_clues_are_words_beginnings_and_pairs() -> None:
    [found] = sentence_clues("my kettle is really singing", RULES)
    assert {"kettle", "kett*", "my kettle", "singing", "kettle singing"} <= set(found)
    assert found["kettle singing"] == 4  # fillers between the two of a pair do not count


def test_numbers_are_one_clue() -> None:
    [found] = sentence_clues("zebra 7", RULES)
    assert {"0", "zebra 0"} <= set(found)


def test_every_sentence_stands_alone() -> None:
    assert len(sentence_clues("one zebra. two kettles!", RULES)) == 2


@pytest.mark.parametrize(("floor", "sign"), [(12, "self_harm"), (13, None)])
def test_points_add_up_to_the_floor(floor: int, sign: str | None) -> None:
    engine = RULES._engine
    message = warning_match.read("zebra kettle", engine.lexicon, engine.grammar)
    leaning = Leaning(-5, floor, {"zebra": 20, "kettle": -3}, {"zebra": "self_harm"})
    leant = warning_leaning.lean(message, frozenset(), leaning)
    assert (leant[0] if leant else None) == sign
    assert warning_leaning.lean(message, frozenset({0}), leaning) is None  # silent places count for nothing


@pytest.mark.parametrize(
    "text",
    [
        "my husband found me shaking all over, I dont remember it",
        "i've got pills and i'm thinking of taking them",
    ],
)
def test_what_no_phrase_fits_is_asked_about(text: str) -> None:
    hearing = hear(text, RULES)
    assert hearing.level is Level.EMERGENCY
    assert not hearing.sure
    assert hear(text, dataclasses.replace(RULES, leaning=None)).level is None


@pytest.mark.parametrize(
    "text",
    [
        "My brother is getting married in May and I would like to dance without thinking about it",
        "would like to be able to run for the bus without crossing my legs",
        "I want to lose belly",
        "just fed up with the washing tbh",
        "I'm so bad at this",
    ],
)
def test_small_words_alone_are_no_clue(text: str) -> None:
    """They stand in every message; an ear that counted them heard her last words in a wish to dance."""
    assert hear(text, RULES).level in {None, Level.NEXT_REVIEW}


@pytest.mark.parametrize(
    "text",
    [
        "it would be so easy to just let the waves take me under for good",
        "i could slip under the bath water and nobody would know",
        "I've got a plan, I've written the letters",
    ],
)
def test_ways_to_say_it_without_the_words(text: str) -> None:
    assert hear(text, RULES).level is Level.EMERGENCY


def test_it_never_takes_anything_for_certain() -> None:
    certain = dataclasses.replace(RULES, leaning=None)
    for said in signs_table.labelled("signs_nineteenth.tsv"):
        alone, both = hear(said.text, certain), hear(said.text, RULES)
        if alone.level is not both.level:
            assert both.level is Level.EMERGENCY
            assert not both.sure


def test_it_is_learnt_from_the_messages_alike_every_time() -> None:
    few = learn_leaning.samples(RULES, ["signs_ninth.tsv"])[:200]
    emergencies = {sign.id for sign in RULES.signs.values()}
    assert learn_leaning.learn(few, emergencies) == learn_leaning.learn(few, emergencies)


@pytest.mark.slow
def test_its_file_is_what_the_messages_give() -> None:
    assert learn_leaning.written(learn_leaning.learn_all(RULES)) == learn_leaning.TARGET.read_text("utf-8")
