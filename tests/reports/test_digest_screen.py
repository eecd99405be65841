"""One screen is one screen: the digest's text in a real browser, as wide and high as a phone."""

import random
from dataclasses import replace

import pytest
from playwright.sync_api import Page

from bot.domain.alerts import Outcome
from bot.domain.client_week import ClosedAlert
from bot.domain.levels import Level
from bot.reports.digest import Digest, digest_text
from tests.fixtures.weeks import ALERT, SIX, day, digest, many

WIDTH, HEIGHT = 390, 844  # points, a usual phone (common practice, no source)
BARS = 170  # of it: status bar, the chat's head, the line to write in
BUBBLE = """<body style="margin:0"><p id="text" style="box-sizing:border-box;width:362px;margin:0 14px;
padding:8px 12px;font:16px/1.3 Arial,'DejaVu Sans',sans-serif;white-space:pre-wrap"></p>"""


def crowd() -> Digest:
    """400 clients, some of them with an alert, a closed emergency or a sign kept for the visit."""
    chance = random.Random(3)
    closed = ClosedAlert(Level.EMERGENCY, day(-5), day(-4), Outcome.SPOKE)
    changes = (
        {"alerts": (ALERT,)},
        {"closed": (closed,)},
        {"alerts": (replace(ALERT, level=Level.NEXT_REVIEW),)},
    )
    return digest(
        *(replace(one, **chance.choice(changes)) if chance.random() < 0.1 else one for one in many(400))
    )


@pytest.mark.parametrize("data", [digest(*SIX), crowd()], ids=["six", "four hundred"])
def test_the_text_stays_on_a_phone_screen(page: Page, data: Digest) -> None:
    page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
    page.set_content(BUBBLE)
    page.evaluate("text => document.getElementById('text').textContent = text", digest_text(data))
    box = page.locator("#text").bounding_box()
    assert box is not None
    assert box["height"] <= HEIGHT - BARS
    assert box["height"] > (HEIGHT - BARS) / 3, "it is drawn at all"
