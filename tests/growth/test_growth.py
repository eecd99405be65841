"""The model in docs/growth.md against a morning played through, and the page against the model."""

import re

import pytest

from tests.growth import model, simulation
from tests.growth.model import Load
from tests.rules.checkout import ROOT

PART = 20  # clients and rate are that much smaller, so that a morning is played in a second
PAGE = (ROOT / "docs/growth.md").read_text(encoding="utf-8")


def small(clients: float) -> Load:
    return Load(round(clients / PART), rate=30 / PART)


@pytest.mark.parametrize("share", [0.5, 0.8])
def test_below_the_most_nobody_is_left_out_and_the_wait_is_as_worked_out(share: float) -> None:
    load = small(model.most_clients(Load(0)) * share)
    morning = simulation.play(load)
    assert (morning.sent, morning.let_go) == (load.clients, 0)
    # The first answers come a while after the first nudges, which is a gain that the model leaves out.
    slack_s = 2 * load.answer_after_s
    assert morning.last_wait_s == pytest.approx(model.longest_wait_s(load), abs=slack_s)
    assert morning.most_a_step <= load.rate * 1.2 + 1e-9


def test_above_the_most_the_rest_is_let_go() -> None:
    load = small(model.most_clients(Load(0)) * 1.5)
    morning = simulation.play(load)
    assert morning.sent == pytest.approx(load.clients / 1.5, rel=0.1)
    assert morning.let_go == load.clients - morning.sent


def test_a_bot_that_may_send_fast_enough_keeps_nobody_waiting() -> None:
    load = small(100_000)
    fast = Load(load.clients, rate=model.peak_per_s(load) * 1.3)
    morning = simulation.play(fast)
    assert (morning.let_go, morning.sent) == (0, load.clients)
    assert morning.last_wait_s < 120


def test_the_page_says_what_the_model_says() -> None:
    load = Load(1_000_000)
    said = {
        "peak": f"{model.peak_per_s(load):.0f} a second",
        "nudges": f"{model.nudges_per_s(load):.1f} nudges a second",
        "most": f"{model.most_clients(load) / 1000:.0f},000 clients",
        "growth": f"{model.bytes_a_day(load) / 1e9:.1f} GB a day",
        "at rest": f"{model.CLIENT_BYTES * load.clients / 1e9:.1f} GB",
    }
    assert {name: text in PAGE for name, text in said.items()} == dict.fromkeys(said, True), said
    assert not re.search(r"TODO|\?\?", PAGE)
