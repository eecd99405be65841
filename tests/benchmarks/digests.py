"""All digests in one pass, beside pandas on the same rows and beside reading each client on her own.

10,000 clients with 26 weeks of history (with `quick` 800). Ours reads the window's rows, opens what is
sealed, works out every client's week, judges her dose and gates, finds the reasons why she is listed and puts
the clients in order; drawing is timed apart. pandas reads the same rows from the same file, opens the
prescriptions with the program's own vault (how many sets were due stands nowhere else) and groups them to the
same figures; it judges, lists and orders nobody. `peer_closed_s` is pandas with the sets due handed to it.
The other peer asks for each client's rows in queries of her own.

`python -m tests.benchmarks.digests [--quick] [--json]`
"""

import argparse
import datetime as dt
import json
import sqlite3
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd

from bot.domain import adherence as adh
from bot.domain import attention, local_time
from bot.domain.adherence import Day
from bot.domain.attention import Line
from bot.domain.check_in import span_of
from bot.domain.client_week import ClientWeek
from bot.domain.contacts import zone_of
from bot.domain.people import Role
from bot.domain.prescription import prescribed_sets
from bot.reports.digest import Digest, digest_text
from bot.reports.picture import digest_picture
from bot.service import window
from bot.service.programme import books_of, day_state, versions_of
from bot.store import alerts, chats, diary, people, vault
from bot.store.base import Store
from bot.store.types import SealedBytes
from bot.store.vault import MasterKey, Place
from tests.benchmarks import _histories
from tests.store import prepared

NOW, LAST_ON = _histories.NOW, _histories.LAST_ON
FIRST_ON = LAST_ON - dt.timedelta(days=6)
SYMPTOMS_FROM = LAST_ON - dt.timedelta(weeks=window.WEEKS_SHOWN) + dt.timedelta(days=1)
SETS_A_DAY = 3
ONE_BY_ONE, QUICK_ONE_BY_ONE = 400, 100  # asked for on their own; the time of all is worked out from them
TIMES = 3


def tell(words: str) -> None:
    """Progress."""
    print(f"  {words}", file=sys.stderr, flush=True)


def ours(store: Store) -> list[tuple[Line, ...]]:
    """Every therapist's clients in the order of attention."""
    store.forget_keys()
    with store.begin() as tx:
        (clinic,) = people.clinics(tx)
        staff = people.staff_of(tx, clinic.id, Role.THERAPIST)
    lines = []
    for part in window.every(store.begin, clinic, staff, NOW, lambda n, of: tell(f"{n} of {of} clients")):
        weeks: dict[Any, list[ClientWeek]] = {}
        for one in part:
            weeks.setdefault(one.therapist_id, []).append(one.week)
        lines += [attention.order(clients, NOW) for clients in weeks.values()]
    return lines


def opened(db: sqlite3.Connection, masters: tuple[MasterKey, ...]) -> "pd.Series[int]":
    """How many sets a day each client's prescription asks for, with the same vault as the program's."""
    asked = "SELECT client_id, prescription.id, starts_on, document, wrapped FROM prescription"
    joined = f"{asked} JOIN data_key ON owner_id = client_id WHERE starts_on <= ?"
    sealed = pd.read_sql(joined, db, params=[f"{FIRST_ON}"])
    held = sealed.sort_values("starts_on").groupby("client_id").last()
    sets = []
    for client_id, row_id, document, wrapped in held[["id", "document", "wrapped"]].itertuples():
        place, sealed = Place("prescription", uuid.UUID(row_id), "document"), SealedBytes(document)
        plain = vault.unseal(vault.unwrap(masters, uuid.UUID(client_id), wrapped), place, sealed)
        sets.append(json.loads(plain)["programme"]["sets_a_day"])
    return pd.Series(sets, index=held.index)


def with_pandas(path: Path, masters: tuple[MasterKey, ...]) -> pd.DataFrame:
    """Adherence of each client's week and the medians of her symptoms; without master keys: sets as told."""
    with sqlite3.connect(path) as db:
        clients = pd.read_sql("SELECT id, therapist_id, code, zone FROM client", db, index_col="id")
        sets_a_day = opened(db, masters) if masters else pd.Series(SETS_A_DAY, index=clients.index)
        asked = "SELECT client_id, on_date, meaning, value, said_at FROM set_report WHERE on_date >= ?"
        sets = pd.read_sql(asked, db, params=[f"{FIRST_ON}"])
        asked = "SELECT client_id, question, on_date, value FROM symptom_report WHERE on_date >= ?"
        told = pd.read_sql(f"{asked} AND value IS NOT NULL", db, params=[f"{SYMPTOMS_FROM}"])
    day = sets.sort_values("said_at").groupby(["client_id", "on_date"])["value"].last()
    day = day[day.index.get_level_values("on_date") <= f"{LAST_ON}"]
    day = day.clip(upper=sets_a_day.reindex(day.index.get_level_values("client_id")).to_numpy())
    week = day.groupby("client_id").agg(done="sum", answered="size").reindex(clients.index, fill_value=0)
    due = sets_a_day * 7
    week["lower"] = week["done"] / due
    week["upper"] = (week["done"] + (7 - week["answered"]) * sets_a_day) / due
    week["on_answered"] = week["done"] / (week["answered"] * sets_a_day)
    week["answered_share"] = week["answered"] / 7
    back = (pd.Timestamp(LAST_ON) - pd.to_datetime(told["on_date"])).dt.days // 7
    medians = told.groupby(["client_id", "question", back])["value"].median()
    medians = medians.unstack([1, 2])  # noqa: PD010 - they are grouped already
    return clients.join(week).join(medians.set_axis([f"{q}-{n}" for q, n in medians.columns], axis=1))


def one_by_one(store: Store, codes: list[str]) -> list[ClientWeek]:
    """The same weeks, each from queries about one client."""
    found = []
    with store.begin() as tx:
        (clinic,) = people.clinics(tx)
        for code in codes:
            client = people.client_by_code(tx, clinic.id, code)
            assert client is not None
            ids, zone = [client.id], local_time.known_zone(client.zone) or zone_of(clinic.card)
            today = local_time.local_date(NOW, zone)
            versions = versions_of(tx, ids)[client.id]
            totals = books_of(tx, ids, FIRST_ON)[client.id].totals
            pauses = diary.pause_events(tx, ids).get(client.id, [])
            told = diary.symptom_reports(tx, ids, SYMPTOMS_FROM).get(client.id, [])
            leaks = [
                span_of("leaks", one.value)
                for one in told
                if one.question == "leaks" and one.value is not None
            ]
            days = [FIRST_ON + dt.timedelta(days=n) for n in range(7)]
            diary.tracks_of(tx, ids)
            alerts.open_of(tx, ids)
            found.append(
                ClientWeek(
                    code=code,
                    today=today,
                    days=tuple(
                        Day(on, prescribed_sets(versions, on), totals.get(on), day_state(pauses, on))
                        for on in days
                    ),
                    joined_on=local_time.local_date(people.consented_at(tx, ids)[client.id], zone),
                    plan_starts_on=versions[0].prescription.starts_on,
                    leaks=tuple(leaks),
                    unread_notes=len(diary.unread_notes(tx, ids)),
                    calls_asked_at=tuple(diary.calls_asked(tx, ids).get(client.id, ())),
                    review_on=versions[-1].prescription.review_on,
                    unreachable_since_on=None if not chats.gone_since(tx, ids) else today,
                )
            )
    attention.order(found, NOW)
    return found


def best(times: int, do: Callable[[], Any]) -> tuple[float, float, Any]:
    """The quickest of some runs, the least processor time of any, and what the last one made."""
    took, worked, made = [], [], None
    for _ in range(times):
        started_s, working_s = time.perf_counter(), time.process_time()
        made = do()
        took.append(time.perf_counter() - started_s)
        worked.append(time.process_time() - working_s)
    return min(took), min(worked), made


def agree(lines: list[tuple[Line, ...]], frame: pd.DataFrame) -> None:
    """Both sides worked out the same figures. Raises AssertionError where they did not."""
    by_code = frame.set_index("code")
    for line in (line for therapist in lines for line in therapist):
        row = by_code.loc[line.code]
        assert (line.figures.done, line.figures.answered_days) == (row["done"], row["answered"]), line.code
        assert float(line.figures.upper or 0) == row["upper"], line.code


def measure(quick: bool) -> dict[str, Any]:
    """The figures by their public names, and beside them what they were taken from."""
    clients = 800 if quick else 10_000
    with tempfile.TemporaryDirectory(prefix="benchmark-") as folder:
        path = Path(folder) / "clinic.sqlite"
        url = f"sqlite:///{path}"
        prepared.at_head(url)
        key = vault.new_master_key()
        store, masters = prepared.open_store(url, _histories.JOINED, key), vault.parse_master_keys(key)
        tell(f"preparing {clients} clients with {_histories.WEEKS} weeks each")
        _histories.fill(store, clients)
        size_mb = path.stat().st_size / 1e6
        ours_s, ours_cpu_s, lines = best(TIMES, lambda: ours(store))
        pandas_s, peer_cpu_s, frame = best(TIMES, lambda: with_pandas(path, masters))
        closed_s, closed_cpu_s, _ = best(TIMES, lambda: with_pandas(path, ()))
        agree(lines, frame)
        codes = [f"C{n}" for n in range(QUICK_ONE_BY_ONE if quick else ONE_BY_ONE)]
        each_s, each_cpu_s, weeks = best(1, lambda: one_by_one(store, codes))
        assert len(weeks) == len(codes)
        assert sum(adh.adherence(week.days).done for week in weeks) == sum(
            line.figures.done for therapist in lines for line in therapist if line.code in set(codes)
        )
        drawing_s, _, _ = best(1, lambda: _draw(lines[0]))
        store.close()
    each_s, each_cpu_s = (one * clients / len(codes) for one in (each_s, each_cpu_s))
    conditions = f"SQLite of {size_mb:.0f} MB, {_histories.WEEKS} weeks a client, best of {TIMES}"
    return {
        "digest_vs_pandas": pandas_s / ours_s,
        "digest_vs_each": each_s / ours_s,
        "digest_vs_pandas_cpu": peer_cpu_s / ours_cpu_s,
        "digest_vs_each_cpu": each_cpu_s / ours_cpu_s,
        "digests": {
            "ours_s": ours_s,
            "peer_s": pandas_s,
            "n": clients,
            "each_s": each_s,
            "drawing_s": drawing_s,
            "ours_cpu_s": ours_cpu_s,
            "peer_cpu_s": peer_cpu_s,
            "each_cpu_s": each_cpu_s,
            "peer_closed_s": closed_s,
            "peer_closed_cpu_s": closed_cpu_s,
            "conditions": f"{conditions}; each_s from {len(codes)} clients; drawing_s of one digest; "
            "ours also judges, lists and orders",
        },
    }


def _draw(lines: tuple[Line, ...]) -> int:
    data = Digest(lines, FIRST_ON, LAST_ON)
    return len(digest_text(data)) + len(digest_picture(data))


def main() -> int:
    """Read the options and measure."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.digests", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer clients")
    parser.add_argument("--json", action="store_true", help="the figures as one JSON object")
    options = parser.parse_args()
    figures = measure(options.quick)
    print(json.dumps(figures) if options.json else "\n".join(f"{k}: {v}" for k, v in figures.items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
