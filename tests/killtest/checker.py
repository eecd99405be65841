"""What a kept run came to, counted from the room's record and by SQL. It imports nothing from the program.

`python -m tests.killtest.checker DIR`. The folder holds `record.jsonl` (see demo/room/record.py), `run.json`
(who is who, how many kills, where the database is) and, on SQLite, the database.
"""

import argparse
import json
import sqlite3
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import psycopg

CHECKOUT = Path(__file__).resolve().parents[2]
MOST_UNKNOWN = 10  # nudges of unknown fate that one kill of one worker may leave
OLDEST_PRESS = timedelta(days=8)  # an older button is no report any more

Line = dict[str, Any]


@dataclass(frozen=True)
class Found:
    """The figures, and everything that does not agree, a line each."""

    figures: dict[str, int | str]
    faults: tuple[str, ...]


class Rows:
    """The database, read by SQL; ids come as 32 hexadecimal digits from either engine."""

    def __init__(self, url: str) -> None:
        self.on_sqlite = url.startswith("sqlite:")
        if self.on_sqlite:
            path = url.removeprefix("sqlite:///")
            self._connection: Any = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        else:
            self._connection = psycopg.connect(url, autocommit=True)

    def close(self) -> None:
        """Close the connection."""
        self._connection.close()

    def all(self, query: str) -> list[tuple[Any, ...]]:
        """The rows of a query."""
        return list(self._connection.execute(query).fetchall())

    def number(self, query: str) -> int:
        """The one number a query gives."""
        return int(self.all(query)[0][0])

    def integrity(self) -> list[str]:
        """The faults that the database finds in itself; none when it is sound."""
        if self.on_sqlite:
            told = [str(row[0]) for row in self.all("PRAGMA integrity_check")]
            orphans = self.all("PRAGMA foreign_key_check")
            return [line for line in told if line != "ok"] + [f"no parent: {row}" for row in orphans]
        self._connection.execute("CREATE EXTENSION IF NOT EXISTS amcheck")
        faults = []
        tables = self.all(
            "SELECT oid::regclass::text FROM pg_class"
            " WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace"
        )
        for (table,) in tables:
            faults += [f"{table}: {row[-1]}" for row in self.all(f"SELECT * FROM verify_heapam('{table}')")]  # noqa: S608 - the database's own names
        indexes = self.all(
            "SELECT c.oid::regclass::text FROM pg_class c JOIN pg_am a ON a.oid = c.relam"
            " WHERE c.relkind = 'i' AND a.amname = 'btree' AND c.relnamespace = 'public'::regnamespace"
        )
        for (index,) in indexes:
            try:
                self.all(f"SELECT bt_index_check('{index}', true)")
            except psycopg.Error as error:
                faults.append(f"{index}: {error}")
        return faults


def _hex(value: object) -> str:
    return str(value).replace("-", "")


def _data(call: Line, verb: str) -> list[str]:
    every = [button.get("callback_data", "") for row in call["buttons"] or () for button in row]
    return [data for data in every if data.split(":")[0] == verb]


class Run:
    """What happened in the room."""

    def __init__(self, folder: Path) -> None:
        self.account: Line = json.loads((folder / "run.json").read_text(encoding="utf-8"))
        lines = [
            json.loads(line) for line in (folder / "record.jsonl").read_text(encoding="utf-8").splitlines()
        ]
        self.code: dict[int, str] = {int(person): code for person, code in self.account["clients"].items()}
        self.taken = [line for line in lines if line["what"] == "call" and line["taken"]]
        ends = {line["update_id"]: line["fate"] for line in lines if line["what"] == "update-end"}
        self.expired = {number for number, fate in ends.items() if fate == "expired"}
        self.updates: dict[int, Line] = {}
        for line in lines:
            if line["what"] == "update":
                self.updates.setdefault(line["update_id"], line)
        self.acts = [
            line for line in lines if line["what"] == "action" and line["action"] in ("say", "press")
        ]

    def presses_expired(self) -> int:
        """Presses that the platform itself let go of."""
        return sum(1 for _ in self.dropped())

    def dropped(self) -> Iterator[tuple[str, int, datetime]]:
        """The presses that the platform let go of: client's code, chat, instant."""
        for act in self.acts:
            if act["action"] == "press" and act["update_id"] in self.expired:
                yield self.code[act["person_id"]], act["chat"], datetime.fromisoformat(act["at"])

    def asks(self, chat: int, on: str, after: datetime) -> bool:
        """Whether a chat was asked about a day (as in a button's data) after an instant."""
        return any(
            data.split(":")[1] == on
            for call in self.taken
            if call["chat"] == chat and datetime.fromisoformat(call["at"]) > after
            for verb in ("done", "total")
            for data in _data(call, verb)
        )

    def let_go_after_handing_out(self) -> Counter[tuple[str, str]]:
        """Reports by presses that were handed out, and let go of before we confirmed them.

        Whoever got them and could not store them yet has them all the same, so they may be booked or not.
        """
        handed = (self.updates.get(number) for number in self.expired)
        keys = ((update["person_id"], self._key(update)) for update in handed if update is not None)
        return Counter({(self.code[person], key): 1 for person, key in keys if person in self.code and key})

    def reports(self) -> Counter[tuple[str, str]]:
        """Every report of sets that was made and not let go of, as (client's code, end of its key).

        A button counts once for each message however often it is pressed.
        """
        made: Counter[tuple[str, str]] = Counter()
        for act in self.acts:
            update = self.updates.get(act["update_id"])
            if act["person_id"] not in self.code or act["update_id"] in self.expired:
                continue
            if update is None:
                made[self.code[act["person_id"]], f"never handed out {act['update_id']}"] = 1
                continue
            key = self._key(update)
            if key is not None:
                made[self.code[act["person_id"]], key] = 1
        return made

    def _key(self, update: Line) -> str | None:
        content = update["content"]
        if update["kind"] == "message":
            return f".{content['message_id']}.0" if content["text"] == self.account["report"] else None
        verb, *rest = content["data"].split(":")
        made_on = datetime.fromisoformat(update["made_at"]).date()
        if verb not in ("done", "total") or made_on - date.fromisoformat(rest[0]) > OLDEST_PRESS:
            return None
        return content["data"] if verb == "done" else f".p{content['id']}"

    def alarms(self) -> list[str]:
        """The clients who wrote the warning, once for each time."""
        return [
            self.code[act["person_id"]]
            for act in self.acts
            if act["action"] == "say" and act["content"]["text"] == self.account["alarm"]
        ]

    def nudges(self) -> Counter[tuple[int, str]]:
        """Every question that nobody asked for, as (chat, what it asks about), with how often it came."""
        came: Counter[tuple[int, str]] = Counter()
        for call in self.taken:
            if call["method"] != "sendMessage":
                continue
            if done := _data(call, "done"):
                came[call["chat"], done[0]] += 1
            elif (total := _data(call, "total")) and str(call["text"]).startswith("How did today go?"):
                came[call["chat"], f"evening {total[0].split(':')[1]}"] += 1
        return came


def check(folder: Path) -> Found:
    """Count and compare. Raises OSError, ValueError or a database's error for what cannot be read."""
    run = Run(folder)
    with closing(Rows(run.account["database"])) as rows:
        sent, booked = run.reports(), _booked(rows)
        lost, doubled = sent - booked, booked - sent - run.let_go_after_handing_out()
        alarms = run.alarms()
        untold = list(_untold(run, rows, alarms))
        unadvised = list(_unadvised(run, alarms))
        nudges = run.nudges()
        twice = {what: times for what, times in nudges.items() if times > 1}
        unknown = rows.number("SELECT count(*) FROM outbox WHERE kind = 'nudge' AND state = 'unknown'")
        integrity = rows.integrity()
        dropped = list(run.dropped())
        asked_again = [_asked_again(run, rows, *press) for press in dropped]
        faults = [
            *(f"report lost: {what}" for what in lost.elements()),
            *(f"report booked twice, or made by nobody: {what}" for what in doubled.elements()),
            *untold,
            *unadvised,
            *(f"nudge sent {times} times: {what}" for what, times in twice.items()),
            *_left_over(rows),
            *integrity,
        ]
        if unknown > MOST_UNKNOWN * run.account["kills"]:
            faults.append(f"{unknown} nudges of unknown fate after {run.account['kills']} kills")
        figures: dict[str, int | str] = {
            "kills": run.account["kills"],
            "reports_sent": sum(sent.values()),
            "reports_lost": sum(lost.values()),
            "reports_doubled": sum(doubled.values()),
            "alerts_raised": len(alarms),
            "alerts_lost": len(untold),
            "advice_lost": len(unadvised),
            "nudges_sent": len(nudges),
            "nudges_doubled": sum(times - 1 for times in twice.values()),
            "nudges_unknown": unknown,
            "presses_expired": run.presses_expired(),
            "presses_asked_again": sum(asked_again),
            "presses_left": sum(
                not again and code not in alarms
                for again, (code, _, _) in zip(asked_again, dropped, strict=True)
            ),
            "clients": len(run.code),
            "workers": run.account["workers"],
            "database": "sqlite" if rows.on_sqlite else "postgresql",
            "integrity": "sound" if not integrity else "broken",
            "faults": len(faults),
        }
    return Found(figures, tuple(faults))


def _booked(rows: Rows) -> Counter[tuple[str, str]]:
    """Every row of a report, under the name that `Run.reports` gives it."""
    booked: Counter[tuple[str, str]] = Counter()
    query = "SELECT client.code, set_report.key FROM set_report JOIN client ON client.id = client_id"
    for code, key in rows.all(query):
        booked[code, key if key.startswith("done:") else f".{key.partition('.')[2]}"] += 1
    return booked


def _untold(run: Run, rows: Rows, alarms: list[str]) -> Iterator[str]:
    """Warnings that are not in the database, or that were told to nobody."""
    told = {data.split(":")[1] for call in run.taken for data in _data(call, "seen")}
    kept: dict[str, list[str]] = {}
    query = "SELECT client.code, alert.id FROM alert JOIN client ON client.id = client_id"
    for code, alert in rows.all(query):
        kept.setdefault(code, []).append(_hex(alert))
    for code in alarms:
        if code not in kept:
            yield f"alert lost: {code} wrote the warning and there is none"
        elif not any(alert in told for alert in kept[code]):
            yield f"alert lost: that of {code} was told to nobody"


def _unadvised(run: Run, alarms: list[str]) -> Iterator[str]:
    """Clients who wrote the warning and got no advice."""
    advised = {
        run.code.get(call["chat"])
        for call in run.taken
        if call["method"] == "sendMessage" and str(call["text"]).startswith(run.account["advice"])
    }
    yield from (f"advice lost: {code} got none" for code in alarms if code not in advised)


def _asked_again(run: Run, rows: Rows, code: str, chat: int, at: datetime) -> bool:
    """Whether she was asked again about the day of a press that was dropped, or told about it otherwise."""
    if run.asks(chat, f"{at:%Y%m%d}", at):
        return True
    hers = f"code = '{code}' AND on_date = '{at:%Y-%m-%d}' AND said_at > '{at:%Y-%m-%d %H:%M:%S}'"
    query = f"SELECT count(*) FROM set_report JOIN client ON client.id = client_id WHERE {hers}"  # noqa: S608 - a code and an instant of our own
    return rows.number(query) > 0


def _left_over(rows: Rows) -> Iterator[str]:
    """What should have come to its end and has not."""
    states = "SELECT state, count(*) FROM {} WHERE state IN ({}) GROUP BY state"
    for table, open_states in (("inbox", "'new', 'set_aside'"), ("outbox", "'queued', 'sending'")):
        for state, number in rows.all(states.format(table, open_states)):
            yield f"{table}: {number} rows are {state}"


def main() -> int:
    """Check a folder and print what was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.killtest.checker", description=__doc__)
    parser.add_argument("folder", type=Path, metavar="DIR", help="where a run was kept")
    found = check(parser.parse_args().folder)
    for fault in found.faults:
        print(fault, file=sys.stderr)
    print(json.dumps(found.figures))
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
