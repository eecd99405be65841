"""The warning reader on single messages, on labelled ones, and on any text at all.

Where no source is named, the expectation is our own engineering decision (common practice, no source).
"""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.domain.levels import Level
from bot.domain.warning_scope import Denial
from bot.domain.warning_signs import SILENCE, Hearing, Route, hear
from bot.rules import signs
from tests.corpora import signs_table, traffic
from tests.corpora.signs_table import GOALS, Goal, Read

RULES = signs.load()
E, S, T, R = Level.EMERGENCY, Level.SAME_DAY, Level.THERAPIST, Level.NEXT_REVIEW
# Words of the trade and of every day, from which messages are put together.
WORDS = st.sampled_from(
    (
        "no",
        "not",
        "cant",
        "my",
        "the",
        "and",
        "but",
        "chest",
        "pain",
        "blood",
        "pad",
        "hour",
        "heavy",
        "numb",
        "legs",
        "baby",
        "hot",
        "temp",
        "38.5",
        "150/95",
        "gone",
        "last",
        "year",
        "sister",
        "is",
        "it",
        "normal",
        "squeeze",
        "sets",
        "3",
        "done",
        "die",
        "leak",
        "bulge",
        "breathe",
        "headache",
        "worst",
        "since",
        "now",
        "without",
        "still",
        "I'll",
        "can't",
        "partner's",
        "he's",
        "wasn't",
    )
)
HARMLESS = (
    "did 3 sets today.",
    "thanks for the message.",
    "see you on friday.",
    "the weather is lovely.",
    "I will do the last one after lunch.",
)


def heard(text: str, **more: frozenset[str]) -> Hearing:
    return hear(text, RULES, **more)


def found(text: str) -> dict[str, Level]:
    """The signs heard in a text, with their levels."""
    return {one.sign: one.level for one in heard(text).heard}


def urgency(hearing: Hearing) -> int:
    return len(Level) if hearing.level is None else hearing.level.rank


# The labelled messages


@pytest.fixture(scope="module")
def reads() -> list[Read]:
    return signs_table.read_all(signs_table.FILES, RULES)


@pytest.mark.parametrize("goal", GOALS, ids=lambda goal: goal.name)
def test_labelled_messages_meet_the_goals(goal: Goal, reads: list[Read]) -> None:
    part, whole = goal.share(reads)
    assert goal.met(part, whole), f"{goal.name}: {part} of {whole}"


def test_there_are_enough_labelled_messages(reads: list[Read]) -> None:
    assert len(reads) >= 600
    assert sum(read.message.level is None for read in reads) >= 250
    assert {read.message.sign for read in reads} - {"-"} == set(RULES.signs)


def test_ordinary_traffic_hardly_ever_rings_for_nothing() -> None:
    counted = traffic.rates(traffic.counts(), RULES)
    daily = traffic.rates(traffic.harmless([traffic.DAILY]), RULES)
    fitted = traffic.rates(traffic.harmless(signs_table.FILES), RULES)
    for alike in (fitted, traffic.LOOK_ALIKES_AT_FIRST_SIGHT):
        pushed = traffic.CASELOAD * traffic.a_week(counted, daily, alike).pushed
        assert pushed <= traffic.MOST_PUSHED_A_WEEK


# What denies, and how far


def test_a_denial_reaches_to_the_end_of_its_clause() -> None:
    hearing = heard("no bleeding but my chest hurts")
    assert [one.sign for one in hearing.heard] == ["chest_breath"]
    assert [(one.sign, one.denied_by) for one in hearing.denied] == [("bleed_increasing", Denial.NEGATED)]


@pytest.mark.parametrize(
    ("text", "sign", "level"),
    [
        ("not only leaking, also numb between my legs", "cauda_equina", E),
        ("cant breathe", "chest_breath", E),  # "can't" is content, not a denial
        ("no pain, no fever, no bleeding and no leaks", None, None),
        ("no bleeding or chest pain", None, None),
        ("no relief from this headache", "headache_severe", S),
        ("bleeding stopped last week", "bleed_increasing", R),
        ("bleeding hasn't stopped, it's pouring", "bleed_heavy", E),
        ("i fainted in the shower, fine now", "seizure_collapse", S),
        ("swollen feet when i was pregnant", None, None),
        ("my sister has chest pain", "chest_breath", S),
        ("my sister is visiting and I have chest pain", "chest_breath", E),
        ("what are the signs of a clot on the lung?", "leg_clot", S),
        ("how much bleeding is normal?", "bleed_increasing", S),
        ("i used to self harm at school", "self_harm", S),
        ("I'm not suicidal", "self_harm", S),
        ("watched a film about a woman who had a stroke", "seizure_collapse", R),
        ("watching a film and my chest hurts", "chest_breath", E),
        ("this is her husband, she is confused and burning up", "sepsis", E),
        ("my wife had a seizure just now", "seizure_collapse", E),
        ("temp is 38.3 but i feel ok", "fever", S),
    ],
)
def test_what_speaks_against_a_sign(text: str, sign: str | None, level: Level | None) -> None:
    hearing = heard(text)
    assert hearing.level is level
    if sign:
        assert found(text)[sign] is level


def test_a_denied_sign_stays_in_the_record() -> None:
    hearing = heard("no chest pain today")
    assert hearing.level is None
    assert [(one.sign, one.level, one.words) for one in hearing.denied] == [
        ("chest_breath", E, ("chest", "pain")),
    ]
    assert "denied (negated by 'no')" in hearing.explanation


def test_denied_beside_affirmed_is_affirmed() -> None:
    hearing = heard("no chest pain yesterday. today my chest hurts badly")
    assert hearing.level is E
    assert hearing.sure
    assert not hearing.denied


def test_a_question_or_someone_else_leaves_it_unsure() -> None:
    for text in ("is it normal to get chest pain?", "my mum has chest pain"):
        hearing = heard(text)
        assert (hearing.level, hearing.sure, hearing.heard[0].sure) == (S, False, False)
        assert hearing.heard[0].route is Route.CLINICIAN_TODAY


# Several signs, combinations, baselines


def test_all_signs_are_recorded_and_the_highest_counts() -> None:
    hearing = heard("leaking more this week, mastitis again and my chest is so tight i cant breathe")
    levels = {one.sign: one.level for one in hearing.heard}
    assert levels["chest_breath"] is E
    assert levels["mastitis"] is S
    assert levels["leak_worse"] is T
    assert hearing.level is E
    assert hearing.heard[0].sign == "chest_breath"


@pytest.mark.parametrize(
    ("text", "sign", "level", "route"),
    [
        ("my calf is swollen and hot", "leg_clot", E, Route.EMERGENCY_DEPARTMENT),
        # A clot that has reached the lung: ambulance (NHS texts, read).
        ("my calf is swollen and hot and im short of breath", "leg_clot", E, Route.AMBULANCE),
        # Swelling with headache or changed sight may be pre-eclampsia (CDC list, read).
        ("my face is puffy", "swelling_face_hands", S, Route.CLINICIAN_TODAY),
        ("my face is puffy and i have a headache", "swelling_face_hands", E, Route.EMERGENCY_DEPARTMENT),
    ],
)
def test_combinations_raise(text: str, sign: str, level: Level, route: Route) -> None:
    one = next(one for one in heard(text).heard if one.sign == sign)
    assert (one.level, one.route) == (level, route)


def test_a_known_complaint_is_only_recorded_unless_it_is_worse() -> None:
    known = frozenset({"leak_worse", "chest_breath"})
    assert heard("i leaked when i jumped").level is T
    assert heard("i leaked when i jumped", known=known).level is R
    assert heard("leaking much more when i jump, getting worse", known=known).level is T
    assert heard("my chest hurts", known=known).level is E  # never quietened


# Numbers need a unit or a neighbour


@pytest.mark.parametrize(
    ("text", "level"),
    [
        # Fever from 38.0 C or 100.4 F (CDC list and HSE page, read).
        ("my temp is 37.9", None),
        ("my temp is 38.0", S),
        ("temperature 100.3", None),
        ("temperature 100.4", S),
        ("38 squeezes", None),
        ("38 weeks when i had her", None),
        # Blood pressure: emergency from 160 or 110 (US public page, read), same day from 140 or 90
        # (NICE NG133, from memory).
        ("bp 139/89", None),
        ("bp 140/80", S),
        ("bp 120/90", S),
        ("bp 159/109", S),
        ("bp 160/80", E),
        ("bp 130/110", E),
        ("8/10 sets", None),
        ("gap 25/22 mm", None),
        ("3/5/4//7", None),
        ("did 160 squeezes this week", None),
        # A pad an hour (public maternity pages, read).
        ("changed my pad every 4 hours, all fine", None),
        ("2 pads in an hour", E),
        # Six hours without passing urine (Irish guideline 41, read).
        ("havent been able to pee for 6 hours", E),
    ],
)
def test_numbers(text: str, level: Level | None) -> None:
    hearing = heard(text)
    if level is None:
        assert hearing.level in (None, R)
    else:
        assert hearing.level is level


# How people type


@pytest.mark.parametrize(
    "text",
    [
        "MY CHEST HURTS",
        "mychesthurts",
        "my ch\u200best hu\u200drts",
        "my chеst hurts",  # noqa: RUF001 - the point of it: a letter of another alphabet
        "my chest huuuurts",
        "m y c h e s t hurts",
        "my chest hurst",
        "my \N{MATHEMATICAL BOLD SMALL C}hest hurts",
        "my c\u0301hest hurts!!!",
    ],
)
def test_odd_typing_is_read(text: str) -> None:
    assert heard(text).level is E


@pytest.mark.parametrize(
    "text",
    [
        "these planks are killing me",
        "dying for a coffee",
        "no pain no gain",
        "absolutely knackered",
        "wet myself laughing",
        "sick of these exercises",
        "fit as a fiddle",
        "my heart melted",
        "could murder a curry",
        "I'll do the rest tonight",
        "blood test tomorrow",
    ],
)
def test_figures_of_speech_raise_nothing(text: str) -> None:
    assert urgency(heard(text)) >= R.rank


def test_silence() -> None:
    for text in ("", "   ", "3", "\u200b", "!!!", "ok thanks"):
        assert heard(text) == SILENCE


def test_the_reading_gives_its_reasons() -> None:
    hearing = heard("soaked a pad in half an hour")
    assert hearing.heard[0].words[0] == "soaked"
    assert hearing.explanation.startswith("bleed_heavy: emergency for 'soaked")


# Any text at all


@given(st.text(max_size=300))
def test_any_text_is_read(text: str) -> None:
    hearing = heard(text)
    assert (hearing.level is None) == (not hearing.heard)


@given(st.lists(WORDS, max_size=14).map(" ".join))
def test_the_same_text_reads_the_same(text: str) -> None:
    assert heard(text) == heard(text)
    assert [one.level.rank for one in heard(text).heard] == sorted(
        one.level.rank for one in heard(text).heard
    )


@given(st.lists(WORDS, max_size=12).map(" ".join), st.sampled_from(HARMLESS))
def test_a_harmless_sentence_never_lowers(text: str, harmless: str) -> None:
    alone = urgency(heard(f"{text}."))
    assert urgency(heard(f"{text}. {harmless}")) <= alone
    assert urgency(heard(f"{harmless} {text}.")) <= alone


@given(
    st.lists(WORDS, min_size=1, max_size=10).map(" ".join),
    st.data(),
    st.sampled_from(["\u200b", "\u200c", "\u200d", "\u2060", "\ufeff", "\u00ad"]),
)
def test_invisible_characters_change_nothing(text: str, data: st.DataObject, invisible: str) -> None:
    places = data.draw(st.lists(st.integers(0, len(text)), max_size=5))
    odd = text
    for place in sorted(places, reverse=True):
        odd = odd[:place] + invisible + odd[place:]
    assert heard(odd) == heard(text)


@settings(max_examples=20, deadline=None)  # it takes the time itself, of the process and not of the wall
@given(st.lists(WORDS, min_size=1, max_size=4), st.integers(200, 600))
def test_repetition_is_read_in_little_time(words: list[str], times: int) -> None:
    started = time.process_time()
    heard(" ".join(words * times))
    assert time.process_time() - started < 5  # generous: what counts is that it does not explode
