"""However it is typed, pasted or disguised, a warning is read; and noise alone is none."""

import pytest

from bot.domain.levels import Level
from bot.domain.warning_signs import hear
from bot.rules import signs
from tests.corpora import signs_table

RULES = signs.load()
E = Level.EMERGENCY
# One plain message for each sign that is an emergency.
PLAIN = {
    "bleed_heavy": "i soaked two pads in an hour",
    "chest_breath": "i cant breathe properly",
    "leg_clot": "my left calf is swollen and hot",
    "headache_severe": "worst headache of my life",
    "vision_change": "my vision is blurry",
    "bp_high": "blood pressure is 170/112",
    "seizure_collapse": "i fainted in the shower",
    "sepsis": "shaking uncontrollably and confused",
    "belly_severe": "severe belly pain and i cant stand up",
    "self_harm": "i want to kill myself",
    "harm_baby": "i am scared i will hurt the baby",
    "psychosis": "i hear voices telling me things",
    "cauda_equina": "i feel numb between my legs",
    "retention": "i cant pee at all since last night",
    "baby_unwell": "my baby is floppy and blue",
}
# Cyrillic and Greek letters that look like Latin ones.
LOOK_ALIKES = str.maketrans("aeopcxi", "\u0430\u0435\u043e\u0440\u0441\u0445\u0456")
FULL_WIDTH = str.maketrans({chr(code): chr(code + 0xFEE0) for code in range(ord("a"), ord("z") + 1)})
NOISE = ("zebra umbrella kettle " * 200)[:4000]


def as_typed() -> dict[str, dict[str, str]]:
    """Every plain message in every disguise."""
    return {
        sign: {
            "capitals": text.upper(),
            "no spaces": text.replace(" ", ""),
            "zero width": "\u200b".join(text),
            "soft hyphens and joiners": text.replace("e", "e\u00ad").replace("i", "\u200di"),
            "look-alikes": text.translate(LOOK_ALIKES),
            "full width": text.translate(FULL_WIDTH),
            "accents": text.replace("e", "e\u0301").replace("a", "a\u0308"),
            "right-to-left marks": f"\u202e{text}\u202c \u200f",
            "beside another script": f"\u05d0\u05d1\u05d2 {text} \u0645\u0631\u062d\u0628\u0627",
            "beside another language": f"hola, necesito ayuda. {text}. gracias",
            "emoji between": text.replace(" ", " \U0001f62d "),
            "dots for spaces": text.replace(" ", "..."),
            "new lines": text.replace(" ", "\n", 1).replace("\n", " ") + "\n\n\n",
            "stretched": text.replace("o", "ooo").replace("a", "aaa"),
            "after noise": f"{NOISE}. {text}"[-4096:],
            "before noise": f"{text}. {NOISE}"[:4096],
            "ten times": "\n".join([text] * 10),
        }
        for sign, text in PLAIN.items()
    }


@pytest.mark.parametrize("sign", PLAIN)
def test_a_warning_is_read_however_it_is_typed(sign: str) -> None:
    for way, text in as_typed()[sign].items():
        hearing = hear(text, RULES)
        assert hearing.level is E, way
        assert sign in {heard.sign for heard in hearing.heard}, way


def test_every_sign_that_is_an_emergency_has_its_plain_message() -> None:
    assert set(PLAIN) == {sign.id for sign in RULES.signs.values() if sign.level is E}


@pytest.mark.parametrize(
    "text",
    [
        "",
        " \n\t ",
        "\U0001f389\U0001f389",
        "\U0001f44d\U0001f3fd",
        "\u200b\u200b",
        "\u202e\u202c",
        NOISE,
        "x" * 4096,
        "\u05e9\u05dc\u05d5\u05dd \u05de\u05d4 \u05e0\u05e9\u05de\u05e2",
        "\u4eca\u5929\u505a\u4e86\u4e09\u7ec4",
        "%s %d {0} \\x00 <b>",
    ],
)
def test_noise_alone_is_no_warning(text: str) -> None:
    assert hear(text, RULES).level is None


def slips(word: str) -> list[str]:
    """The word with one letter left out, doubled or swapped with the next."""
    return [
        slip
        for at in range(1, len(word) - 1)
        for slip in (
            word[:at] + word[at + 1 :],
            word[:at] + word[at] + word[at:],
            word[:at] + word[at + 1] + word[at] + word[at + 2 :],
        )
    ]


def test_a_slip_in_the_longest_word_is_read_through() -> None:
    lost = [
        (sign, slip)
        for sign, text in PLAIN.items()
        for slip in slips(max(text.split(), key=len))
        if hear(text.replace(max(text.split(), key=len), slip), RULES).level is not E
    ]
    assert len(lost) <= 8, lost  # a slip that makes another word, such as "sacred"


def test_case_and_invisible_characters_change_no_labelled_message() -> None:
    for name in signs_table.FILES[-4:]:
        for said in signs_table.labelled(name):
            plain = hear(said.text, RULES).level
            assert hear(said.text.upper(), RULES).level is plain, said.text
            assert hear("\u2060".join(said.text), RULES).level is plain, said.text
