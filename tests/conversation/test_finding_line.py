"""A line of findings: what is read, and what is left to her words."""

import pytest

from bot.conversation.finding_line import read, told


@pytest.mark.parametrize(
    ("line", "fields"),
    [
        ("3/5/4//7", {"perfect": "3/5/4//7"}),
        ("PERFECT 3/5/4/7, all well", {"perfect": "3/5/4//7"}),
        ("9/5/4//7", {}),  # strength goes to 5
        ("distance 2/2/1, tone raised", {"tone": "raised"}),
        ("pain on contraction: no; score ICIQ 9", {"pain_on_contraction": False, "scores": {"ICIQ": 9.0}}),
        ("she is well", {}),
    ],
)
def test_what_is_read(line: str, fields: dict[str, object]) -> None:
    assert read(line) == fields


def test_contraction_and_release_keep_how_it_was_written() -> None:
    line = "contraction yes, full release no"
    assert read(line) == {"contraction": "yes", "full_release": "no", "how": line}
    assert told(read(line)) == ("correct contraction: yes", "full release: no")


def test_pain_on_contraction_is_not_taken_for_a_confirmed_contraction() -> None:
    assert read("pain on contraction yes") == {"pain_on_contraction": True}
