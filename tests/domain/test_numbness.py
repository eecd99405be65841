"""What is followed by the one question about numbness."""

import pytest

from bot.domain.numbness import GRAVE_SIGN, cannot_feel, feels_less
from bot.rules import signs


@pytest.mark.parametrize(
    "text",
    [
        "i can't feel it",
        "I CANT FEEL IT AT ALL",
        "can\u2019t really feel my pelvic floor",
        "cannot feel anything when i squeeze",
        "i dont feel a thing",
        "hardly feel it lifting",
        "feel nothing down there",
    ],
)
def test_it_is_asked(text: str) -> None:
    assert cannot_feel(text)


@pytest.mark.parametrize(
    "text",
    [
        "i feel great",
        "can feel it now",
        "i dont feel like it today",
        "3",
        "",
        "cant see the point",
        "feeling fine",
    ],
)
def test_it_is_not_asked(text: str) -> None:
    assert not cannot_feel(text)


def test_the_sign_it_stands_for_is_a_rule() -> None:
    assert GRAVE_SIGN in signs.load().signs


@pytest.mark.parametrize(
    ("text", "less"),
    [
        ("No, or less", True),
        ("less", True),
        ("I can\u2019t", True),
        ("not sure...", True),
        ("Dont think so", True),
        ("Yes, as always", False),
        ("i can feel it!", False),
        ("2", None),
        ("what do you mean", None),
        ("no more today", None),
    ],
)
def test_her_typed_answer(text: str, less: bool | None) -> None:
    assert feels_less(text) is less
