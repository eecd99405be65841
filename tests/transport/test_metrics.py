"""The page that monitoring reads: what stands there, by the reader of the format's own library."""

import asyncio
from typing import Any

import httpx
from prometheus_client.parser import text_string_to_metric_families

from bot.service.gauges import Gauges
from bot.transport import face, metrics

GAUGES = Gauges(
    due_lag_s=12.5,
    inbox_age_s=0.0,
    queued={"nudge": 7, "advice": 1},
    failed={"refused": 2, "unknown": 0, "expired": 0},
    unseen_alerts={"emergency": 1, "same_day": 0, "therapist": 3, "next_review": 0},
    undelivered_alerts=1,
)


def ask(figures: Any) -> httpx.Response:
    async def ready() -> list[str]:
        return []

    async def get() -> httpx.Response:
        app = face.make_face(ready, figures=figures)
        async with httpx.AsyncClient(
            transport=httpx.ASGITransport(app=app), base_url="http://face.invalid"
        ) as client:
            return await client.get("/metrics")

    return asyncio.run(get())


def test_the_page_reads_back_to_the_same_figures() -> None:
    async def figures() -> Gauges:
        return GAUGES

    answer = ask(figures)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == metrics.CONTENT_TYPE
    found = {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }
    assert found[("programme_due_lag_seconds",)] == 12.5
    assert found[("programme_queued_messages", "nudge")] == 7
    assert found[("programme_failed_messages", "refused")] == 2
    assert found[("programme_unseen_alerts", "emergency")] == 1
    assert found[("programme_undelivered_alerts",)] == 1
    assert all(family.documentation for family in text_string_to_metric_families(answer.text))


def test_without_a_database_there_are_none() -> None:
    async def fails() -> Gauges:
        raise RuntimeError("a text nobody may see")

    answer = ask(fails)
    assert (answer.status_code, answer.text) == (503, "database: no answer (RuntimeError)\n")
    assert ask(None).status_code == 404
