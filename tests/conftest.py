"""What every test may ask for, and what no test may do."""

import pytest

from tests.fixtures import guard

pytest_plugins = [
    "tests.fixtures.browser",
    "tests.fixtures.clock",
    "tests.fixtures.databases",
]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--slow", action="store_true", help="also run the tests marked slow")


def pytest_configure() -> None:
    guard.close()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--slow"):
        return
    slow = {item for item in items if item.get_closest_marker("slow")}
    config.hook.pytest_deselected(items=[item for item in items if item in slow])
    items[:] = [item for item in items if item not in slow]
