"""Messages a second read on one core, against the plain number-word library on the same text.

`python -m tests.benchmarks.reading [--quick] [--json]`. The messages are those of the tests of reading. Both
sides take turns in one process; processor time is counted, so that a busy machine matters less. The peer only
turns number words into figures: it knows no days, no corrections and no pain scores.
"""

import argparse
import datetime as dt
import json
import time
from collections.abc import Callable
from typing import Any

from text_to_num import alpha2digit

from bot.domain import reading_counts, reading_tables
from bot.domain.reading import read
from tests.corpora import counts_table

TODAY = dt.date(2026, 3, 4)
RUNS, QUICK_RUNS = 7, 2
CACHES = (reading_counts.fit, reading_tables.slip, reading_tables.counted_slip)


def measure(quick: bool) -> dict[str, Any]:
    """Messages a second, ours over the library's time, both as the better of some runs."""
    texts = [message.text for lot in counts_table.LOTS for message in counts_table.messages(lot)]
    reading_tables.tables("en")
    ours: list[float] = []
    peer: list[float] = []
    for _ in range(QUICK_RUNS if quick else RUNS):
        for cache in CACHES:
            cache.cache_clear()
        ours.append(_timed(_read, texts))
        peer.append(_timed(_plain, texts))
    return {
        "messages_read_per_s": round(len(texts) / min(ours)),
        "reading_ratio": round(min(ours) / min(peer), 2),
        "reading": {
            "ours_s": round(min(ours), 4),
            "peer_s": round(min(peer), 4),
            "n": len(texts),
            "conditions": f"processor time of one core, best of {len(ours)} runs by turns, caches emptied"
            " before each; peer: text2num's alpha2digit alone",
        },
    }


def _read(text: str) -> None:
    read(text, sets=3, done=0, today=TODAY)


def _plain(text: str) -> None:
    alpha2digit(text, "en")


def _timed(read_one: Callable[[str], None], texts: list[str]) -> float:
    began = time.process_time()
    for text in texts:
        read_one(text)
    return time.process_time() - began


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.reading", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer runs")
    parser.add_argument("--json", action="store_true", help="the figures as one JSON object")
    options = parser.parse_args()
    figures = measure(options.quick)
    if options.json:
        print(json.dumps(figures))
        return
    for name, value in (figures | figures.pop("reading")).items():
        print(f"{name:22} {value}")


if __name__ == "__main__":
    main()
