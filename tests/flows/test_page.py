"""The demo's page with the real bot behind it: somebody enrols, answers, worries; her therapist reads."""

import re

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from demo import cast
from tests.flows.conftest import Scene


def _pane(page: Page, side: str) -> Locator:
    return page.locator(f"[data-side={side}].pane")


def _write(pane: Locator, text: str) -> None:
    pane.locator("textarea.words").fill(text)
    pane.locator("textarea.words").press("Enter")


@pytest.mark.browser
def test_enrol_answer_worry_and_digest_on_the_page(scene: Scene, browser: Browser) -> None:
    invited = scene.clinic.add_client(scene.prescription("K1"))
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(f"{scene.room.url}/?right={scene.clinic.therapist}")

    newcomer = page.locator("#newcomer")
    newcomer.get_by_label("Name").fill("Aoife")
    newcomer.locator("textarea").fill(cast.invite_link(invited))
    newcomer.get_by_role("button", name="Open the chat").click()
    client, therapist = _pane(page, "left"), _pane(page, "right")
    expect(client.get_by_text("Which four digits did your therapist tell you?").last).to_be_visible()
    _write(client, invited.digits)
    client.get_by_role("button", name="I agree").click()
    client.get_by_role("button", name="Yes", exact=True).click()
    expect(client.get_by_text(re.compile("^All set")).last).to_be_visible()

    page.get_by_role("button", name="To the next event").click()
    client.get_by_role("button", name="Done").click()
    expect(client.get_by_text("Noted: 1 of 3 today.").last).to_be_visible()
    _write(client, "3")
    expect(client.get_by_text("Noted: 3 of 3 today. That is today's plan.").last).to_be_visible()
    _write(client, "theres blood pouring out and i feel faint")
    expect(client.get_by_text(re.compile("^Call 112 now. Ask for an ambulance.")).last).to_be_visible()
    expect(therapist.get_by_text(re.compile("^EMERGENCY: K1.")).last).to_be_visible()

    therapist.get_by_role("button", name="Seen").click()
    therapist.get_by_role("button", name="Spoke to her").click()
    expect(therapist.get_by_text("K1: closed (spoke to her).").last).to_be_visible()
    therapist.get_by_role("button", name="Keep paused").click()

    page.get_by_role("button", name="One week on").click()
    expect(page.locator("#day")).to_have_text("Monday, 9 March 2026", timeout=60_000)
    expect(page.locator("#stop")).to_be_hidden(timeout=60_000)
    page.get_by_role("button", name="To the next event").click()
    expect(therapist.locator("img")).to_have_count(2, timeout=30_000)
    expect(therapist.get_by_text(re.compile("^Mon 2 Mar to Sun 8 Mar 2026: 1 client")).last).to_be_visible()
    assert complaints == []
