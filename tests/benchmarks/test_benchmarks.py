"""The benchmarks run, count what they say they count, and are all found. Figures are not judged here."""

import asyncio

import httpx
import pytest

from tests.benchmarks import __main__ as command
from tests.benchmarks import _clinic, _platform, inbound, outbound

OURS = {"start", "tick", "outbound", "inbound", "latency", "workers"}


def test_every_benchmark_is_found() -> None:
    assert {name for name, _ in command.benchmarks()} >= OURS


def test_messages_and_updates_are_counted_by_what_is_in_the_database() -> None:
    """Both would raise for one that was lost or done twice on the way."""
    with _platform.running() as url:
        assert outbound._ours(url, 30, 4) > 0
        httpx.post(f"{url}/arm", json=inbound.updates(30), trust_env=False)
        clinic = _clinic.open_clinic(_clinic.fresh(30, 0))
        try:
            accepted_s, handled_s = asyncio.run(inbound._ours(clinic, url, 30))
        finally:
            clinic.store.close()
    assert min(accepted_s, handled_s) > 0


def test_the_table_shows_what_stands_beside_a_figure() -> None:
    shown = command.table({"tick_ratio": 1.25, "tick": {"ours_s": 0.5, "n": 3}, "workers": [{"workers": 1}]})
    assert shown.splitlines()[0].split() == ["tick_ratio", "1.250"]
    assert "ours_s" in shown
    assert "workers 1" in shown


@pytest.mark.slow
def test_the_quick_run_has_every_key() -> None:
    figures: dict[str, object] = {}
    for name, measure in command.benchmarks():
        if name in OURS:
            figures |= measure(True)
    keys = {"start_ratio", "memory_ratio", "tick_ratio", "outbound_vs_http", "outbound_per_s", "workers"}
    keys |= {"inbound_vs_commit", "inbound_per_s", "handled_per_s", "reply_p99_s", "advice_p99_s"}
    assert keys <= figures.keys()
