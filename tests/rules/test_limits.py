"""The limits that travel with the program: each with a source, and the figures the trade goes by."""

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from bot.domain.exercises import Load
from bot.domain.findings import Unit
from bot.errors import RefusedError
from bot.rules import limits

LIMITS, FIGURES, CRITERIA = limits.load()


def figures(table: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    for value in table.values():
        if isinstance(value, Mapping):
            if "value" in value:
                yield value
            else:
                yield from figures(value)


def test_every_figure_names_its_source_and_claims_reading_only_where_there_is_one() -> None:
    found = list(figures(tomllib.loads(limits.FILE.read_text(encoding="utf-8"))))
    assert len(found) >= 15
    for figure in found:
        assert figure["source"]
        if "no source" in figure["source"] or "from memory" in figure["source"]:
            assert figure["source_read"] is False


def test_the_gates_of_the_trade() -> None:
    """Week numbers and finger widths: common practice, no source. 22 mm: Beer 2009 (read)."""
    assert {load: asked.weeks.value for load, asked in LIMITS.loads.items()} == {
        Load.PRESSURE: 6,
        Load.RECTUS: 12,
        Load.STRONG_RECTUS: 16,
        Load.IMPACT: 16,
    }
    strong = LIMITS.loads[Load.STRONG_RECTUS].narrower_than
    assert {unit: limit.value for unit, limit in strong.items()} == {Unit.FINGERS: 2, Unit.MM: 22}
    assert [load for load, asked in LIMITS.loads.items() if asked.impact_screen] == [Load.IMPACT]
    assert LIMITS.fresh_weeks.value == 8


def test_no_week_of_a_gate_is_sold_as_published() -> None:
    """No published week was found for curl-ups and planks; the one for impact is lower than ours."""
    assert "no source" in LIMITS.loads[Load.STRONG_RECTUS].weeks.source
    assert "not before 12 weeks" in LIMITS.loads[Load.IMPACT].weeks.source


def test_the_figures_of_the_dose() -> None:
    """NICE NG123: 8 contractions, 3 times a day (as pharmacy pages report it). PERFECT rests: from memory."""
    assert (FIGURES.floor_contractions.value, FIGURES.floor_sets.value) == (8, 3)
    assert (FIGURES.rest_s.value, FIGURES.pause_s.value) == (4, 60)


@pytest.mark.parametrize(
    ("own", "fault"),
    [
        ({"gates": {"pain": {"value": -1, "source": "our rule", "source_read": True}}},
         "ours: gates.pain.value: Input should be greater than or equal to 0"),
        ({"gates": {"fresh_weeks": {"value": 6.5, "source": "our rule", "source_read": True}}},
         "ours: gates.fresh_weeks.value: expected a whole number"),
        ({"gates": {"loads": {"jumping": {"weeks": 3}}}},
         "ours: gates.loads.jumping: Input should be 'pressure', 'rectus', 'strong-rectus' or 'impact'"),
        ({"dose": {"floor_counts": "some"}}, "ours: dose.floor_counts: Input should be 'long' or 'all'"),
        ({"dose": {"rests": 3}}, "ours: dose.rests: not a field of the limits; did you mean rest_s?"),
        ({"dose": 3}, "ours: dose: expected a table of fields"),
    ],
)  # fmt: skip
def test_faulty_limits(own: dict[str, Any], fault: str) -> None:
    with pytest.raises(RefusedError) as refused:
        limits.load(own, "ours")
    assert fault in refused.value.faults
