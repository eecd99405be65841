"""The hazard log: every hazard names tests, and every test it names is there."""

import ast
import re
from functools import cache

from tests.rules.checkout import ROOT

LOG = (ROOT / "docs/hazards.md").read_text(encoding="utf-8")
NAMED = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")
HAZARDS = re.split(r"(?m)^\*\*(?=H\d+\. )", LOG)[1:]


@cache
def defined_in(file: str) -> frozenset[str]:
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return frozenset(node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def missing(text: str) -> list[str]:
    return [
        f"{file}::{test}"
        for file, test in NAMED.findall(text)
        if not (ROOT / file).is_file() or test not in defined_in(file)
    ]


def test_every_hazard_is_numbered_and_names_a_test() -> None:
    assert [int(one.split(".")[0][1:]) for one in HAZARDS] == list(range(1, len(HAZARDS) + 1))
    for hazard in HAZARDS:
        assert NAMED.search(hazard), hazard


def test_every_test_it_names_is_there() -> None:
    assert missing(LOG) == []


def test_a_test_that_is_gone_is_noticed() -> None:
    assert missing("`tests/rules/test_hazards.py::test_nothing`") == [
        "tests/rules/test_hazards.py::test_nothing"
    ]
    assert missing("`tests/rules/test_nowhere.py::test_x`") == ["tests/rules/test_nowhere.py::test_x"]
