"""The figures of a kept run, counted from the room's record and by SQL, and held against each other.

`python -m demo.checker DIR [--json]`: 0 when all agrees, 1 when something does not. It knows the bot only by
what it left behind: the calls the room wrote down and the rows of the database, whose private columns stay
sealed. Where the folder holds an account of what the people meant, that is held against the rows as well.
"""

import argparse
import json
import sqlite3
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

ACCOUNT = "account.json"
OLDEST_PRESS = timedelta(days=8)  # a *Done* older than this is no report any more
ONE_ANSWER_WITHIN = timedelta(minutes=2)  # the parts of one long text get one answer
SENDING = (
    "sendMessage",
    "sendPhoto",
    "editMessageText",
    "editMessageReplyMarkup",
    "answerCallbackQuery",
    "setMyCommands",
)

Line = dict[str, Any]


@dataclass(frozen=True)
class Found:
    """What a run came to. faults: everything that failed or does not agree, a line each."""

    figures: dict[str, int]
    faults: tuple[str, ...]

    def table(self) -> str:
        """The figures, one a line."""
        width = max(len(name) for name in self.figures)
        return "\n".join(f"{name:{width}}  {number:6}" for name, number in self.figures.items())


def check(folder: Path) -> Found:
    """Count and compare what a run left in a folder.

    Raises OSError, ValueError or sqlite3.Error for what cannot be read.
    """
    lines = (folder / "record.jsonl").read_text(encoding="utf-8").splitlines()
    record = Record([json.loads(line) for line in lines])
    with closing(sqlite3.connect(f"file:{folder / 'programme.sqlite3'}?mode=ro", uri=True)) as database:
        database.row_factory = sqlite3.Row
        rows = Rows(database)
        account_file = folder / ACCOUNT
        account = json.loads(account_file.read_text(encoding="utf-8")) if account_file.exists() else None
        faults = [
            *_failures(record, rows),
            *_deliveries(record, rows),
            *_answers(record, rows),
            *_reports(record, rows),
            *_alerts(record, rows),
            *_digests(record, rows),
            *(_meant(account, rows) if account is not None else ()),
        ]
        figures = {
            "clients": rows.number("SELECT count(*) FROM client"),
            "updates": len(record.updates),
            "messages_sent": sum(call["method"] in ("sendMessage", "sendPhoto") for call in record.taken),
            "nudges_sent": len(record.nudges),
            "set_reports": rows.number("SELECT count(*) FROM set_report"),
            "symptom_reports": rows.number("SELECT count(*) FROM symptom_report WHERE value IS NOT NULL"),
            "alerts": rows.number("SELECT count(*) FROM alert"),
            "alerts_seen": rows.number("SELECT count(*) FROM alert WHERE seen_at IS NOT NULL"),
            "alerts_closed": rows.number("SELECT count(*) FROM alert WHERE closed_at IS NOT NULL"),
            "digests": len(record.pictures),
            "messages_unread": rows.number("SELECT count(*) FROM unread_note"),
            "errors": len(faults),
        }
    return Found(figures, tuple(faults))


class Record:
    """The room's record: the bot's calls, the updates handed out, the ends of updates, the driver's runs."""

    def __init__(self, lines: list[Line]) -> None:
        self.calls = [line for line in lines if line["what"] == "call"]
        self.ends = [line for line in lines if line["what"] == "update-end"]
        self.runs = [line for line in lines if line["what"] == "driver"]
        self.ended_at = str(lines[-1]["at"]).replace("T", " ").removesuffix("Z")  # as SQLite holds it
        self.updates: dict[int, Line] = {}
        for line in lines:
            if line["what"] == "update":
                self.updates.setdefault(line["update_id"], line)
        self.taken = [call for call in self.calls if call["taken"] and call["method"] in SENDING]
        self.nudges = [call for call in self.taken if call["method"] == "sendMessage" and _data(call, "done")]
        self.told = [call for call in self.taken if call["method"] == "sendMessage" and _data(call, "seen")]
        self.pictures = [call for call in self.taken if call["method"] == "sendPhoto"]

    def presses(self, verb: str) -> Iterator[tuple[Line, list[str]]]:
        """The presses of one kind, with the data's parts behind the verb."""
        for update in self.updates.values():
            given, *rest = str(update["content"].get("data", "")).split(":")
            if update["kind"] == "callback_query" and given == verb:
                yield update, rest


def _data(call: Line, verb: str) -> list[str]:
    """The data of a call's buttons that begin with a verb."""
    every = [button.get("callback_data", "") for row in call["buttons"] or () for button in row]
    return [data for data in every if data.split(":")[0] == verb]


class Rows:
    """The database, read only, and which update each inbox row came from."""

    def __init__(self, database: sqlite3.Connection) -> None:
        self._database = database
        self.inbox = {
            row["update_id"]: row["id"] for row in self.all("SELECT id, update_id FROM inbox ORDER BY id")
        }

    def all(self, query: str, *values: object) -> list[sqlite3.Row]:
        """The rows of a query."""
        return self._database.execute(query, values).fetchall()

    def number(self, query: str, *values: object) -> int:
        """The one number a query gives."""
        return int(self._database.execute(query, values).fetchone()[0])

    def counts(self, query: str, *values: object) -> dict[str, int]:
        """The first column of a query with how often it came."""
        return dict(Counter(str(row[0]) for row in self.all(query, *values)))


def _failures(record: Record, rows: Rows) -> Iterator[str]:
    """What went wrong by itself: refused calls, lost updates, rows that were set aside or never sent."""
    for call in record.calls:
        if call["answer"] != "ok":
            yield f"{call['at']}: {call['method']} was answered {call['answer']} ({call['description']})"
    for run in record.runs:
        if run["error"]:
            yield f"{run['at']}: the bot did not run ({run['error']})"
    for end in record.ends:
        if end["fate"] != "confirmed":
            yield f"{end['at']}: update {end['update_id']} ended as {end['fate']}"
    for state, number in rows.counts("SELECT state FROM inbox WHERE state <> 'handled'").items():
        yield f"inbox: {number} rows are {state}"
    for state, number in rows.counts("SELECT state FROM outbox WHERE state <> 'sent'").items():
        yield f"outbox: {number} rows are {state}"


def _deliveries(record: Record, rows: Rows) -> Iterator[str]:
    """Every sent row is one call the room took, and every nudge went out once."""
    sent = rows.number("SELECT count(*) FROM outbox WHERE state = 'sent'")
    yield from _equal("calls taken and outbox rows sent", len(record.taken), sent)
    nudges = rows.all(
        "SELECT key, message_id FROM outbox WHERE state = 'sent' AND "
        "(key LIKE 'unasked:%:nudge:%' OR key LIKE 'unasked:%:later:%')"
    )
    yield from _equal("nudges in the record and in the outbox", len(record.nudges), len(nudges))
    yield from _same(
        "the nudges' message numbers",
        Counter(call["message_id"] for call in record.nudges),
        Counter(row["message_id"] for row in nudges),
    )
    offered = Counter((call["chat"], data) for call in record.nudges for data in _data(call, "done"))
    for (chat, data), times in offered.items():
        if times > 1:
            yield f"chat {chat} was nudged {times} times for {data}"


def _answers(record: Record, rows: Rows) -> Iterator[str]:
    """Every update is in the inbox, every press was answered, and everything written got an answer."""
    missing = record.updates.keys() - rows.inbox.keys()
    yield from (f"update {number} is not in the inbox" for number in sorted(missing))
    stopped = {call["query"] for call in record.taken if call["method"] == "answerCallbackQuery"}
    keys = [
        row["key"] for row in rows.all("SELECT key FROM outbox WHERE key LIKE 're:%' OR key LIKE 'edit:%'")
    ]
    replied = {key.split(":")[1] for key in keys}
    answered_at: dict[int, datetime] = {}
    for number, update in record.updates.items():
        if update["kind"] == "callback_query" and update["content"]["id"] not in stopped:
            yield f"update {number}: the press was never answered"
        if update["kind"] not in ("message", "callback_query") or number in missing:
            continue
        made_at, person = _instant(update["made_at"]), update["person_id"]
        before_at = answered_at.get(person)
        if rows.inbox[number] in replied:
            answered_at[person] = made_at
        elif not (before_at and update["kind"] == "message" and made_at - before_at < ONE_ANSWER_WITHIN):
            yield f"update {number}: {update['person']} got no answer"


def _reports(record: Record, rows: Rows) -> Iterator[str]:
    """Every press that reports sets or a symptom has its row, and none has two."""
    done = {
        (update["person_id"], f"done:{day}:{place}")
        for update, (day, place) in record.presses("done")
        if _is_fresh(update, day)
    }
    yield from _same(
        "*Done* presses and their reports",
        Counter(key for _, key in done),
        Counter(row["key"] for row in rows.all("SELECT key FROM set_report WHERE key LIKE 'done:%'")),
    )
    tapped = {
        row["key"].rpartition(".p")[2]: (row["on_date"].replace("-", ""), row["meaning"], row["value"])
        for row in rows.all("SELECT key, on_date, meaning, value FROM set_report WHERE key LIKE '%.p%'")
    }
    for update, (day, number) in record.presses("total"):
        meant = (day, "total" if int(number) else "none", int(number))
        got = tapped.pop(update["content"]["id"], None)
        if got != meant:
            yield f"update {update['update_id']}: {meant} was tapped, {got} is booked"
    yield from (f"a report of {got} was tapped by nobody" for got in tapped.values())
    undone = {(update["person_id"], ":".join(rest)) for update, rest in record.presses("undo")}
    yield from _same(
        "reports taken back by *Undo* and the rows that say so",
        Counter(key for _, key in undone),
        Counter(row["undoes"] for row in rows.all("SELECT undoes FROM set_report WHERE undoes IS NOT NULL")),
    )
    asked = {
        (update["person_id"], f"{day}:{question}") for update, (day, question, _) in record.presses("ask")
    }
    answers = Counter(row["key"] for row in rows.all("SELECT key FROM symptom_report"))
    yield from _same(
        "answers to weekly questions and their rows",
        Counter(key for _, key in asked),
        Counter({key: times for key, times in answers.items() if ":" in key}),
    )


def _is_fresh(update: Line, day: str) -> bool:
    return _instant(update["made_at"]).replace(tzinfo=None) - datetime.strptime(day, "%Y%m%d") <= OLDEST_PRESS  # noqa: DTZ007 - a day has no zone


def _alerts(record: Record, rows: Rows) -> Iterator[str]:
    """Every alert that is to be told was told, each telling is a message, each seen one was marked so."""
    told = {data.split(":")[1] for call in record.told for data in _data(call, "seen")}
    raised = {
        row["id"]
        for row in rows.all("SELECT id FROM alert WHERE level <> 'next_review' AND told_at IS NOT NULL")
    }
    waiting = rows.all("SELECT id, next_step_at FROM alert WHERE level <> 'next_review' AND told_at IS NULL")
    for row in waiting:
        if row["next_step_at"] is None or row["next_step_at"] <= record.ended_at:
            yield f"alert {row['id']} was due and is told to nobody"
    yield from (f"alert {alert} is marked as told and no message told it" for alert in sorted(raised - told))
    yield from (f"alert {alert} was told and is not there" for alert in sorted(told - raised))
    tellings = rows.number("SELECT count(*) FROM alert_event WHERE kind = 'told'")
    yield from _equal("tellings of alerts in the record and in the history", len(record.told), tellings)
    marked = {rest[-1] for _, rest in record.presses("seen")} | {
        rest[-1] for _, rest in record.presses("out")
    }
    seen = {row["id"] for row in rows.all("SELECT id FROM alert WHERE seen_at IS NOT NULL")}
    yield from (f"alert {alert}: marked and seen do not agree" for alert in sorted(marked ^ seen))


def _digests(record: Record, rows: Rows) -> Iterator[str]:
    """Every digest is a text and a picture, both sent, and each once."""
    for part in ("picture", "text"):
        sent = rows.number(
            "SELECT count(*) FROM outbox WHERE state = 'sent' AND key LIKE 'digest:%' AND key LIKE ?",
            f"%:{part}",
        )
        yield from _equal(f"pictures taken and digest {part}s sent", len(record.pictures), sent)


def _meant(account: Line, rows: Rows) -> Iterator[str]:
    """What the people meant, held against what was booked."""
    yield from (f"script: {mishap}" for mishap in account["mishaps"])
    codes = {row["id"]: row["code"] for row in rows.all("SELECT id, code FROM client")}
    booked = _fold(rows, codes)
    for code, meant in account["clients"].items():
        for on in sorted(meant["sets"].keys() | booked.get(code, {}).keys()):
            yield from _equal(
                f"{code}, sets of {on}, meant and booked", meant["sets"].get(on), booked.get(code, {}).get(on)
            )
    for table, name in (("unread_note", "unread"), ("alert", "alerts"), ("symptom_report", "symptoms")):
        for code, meant in account["clients"].items():
            number = rows.number(
                f"SELECT count(*) FROM {table} JOIN client ON client.id = client_id WHERE code = ?",  # noqa: S608
                code,
            )
            yield from _equal(f"{code}, {name}, meant and kept", meant[name], number)
    seen = rows.number("SELECT count(*) FROM alert WHERE seen_at IS NOT NULL")
    yield from _equal("alerts the therapist marked and seen ones", account["alerts_seen"], seen)
    pictures = rows.number("SELECT count(*) FROM outbox WHERE key LIKE 'digest:%:picture'")
    yield from _equal("weeks and digests", account["digests"], pictures)


def _fold(rows: Rows, codes: dict[str, str]) -> dict[str, dict[str, int]]:
    """The sets of each client and day, worked out from her reports in the order she made them."""
    totals: dict[str, dict[str, int]] = {}
    taken_back = {
        (row["client_id"], row["undoes"])
        for row in rows.all("SELECT client_id, undoes FROM set_report WHERE undoes IS NOT NULL")
    }
    for row in rows.all("SELECT * FROM set_report ORDER BY said_at, entered_at, id"):
        if row["undoes"] is not None or (row["client_id"], row["key"]) in taken_back:
            continue
        days = totals.setdefault(codes[row["client_id"]], {})
        before = days.get(row["on_date"], 0)
        match row["meaning"]:
            case "added":
                days[row["on_date"]] = before + row["value"]
            case "closed":
                days[row["on_date"]] = before
            case _:
                days[row["on_date"]] = row["value"]
    return totals


def _equal(what: str, one: object, other: object) -> Iterator[str]:
    if one != other:
        yield f"{what}: {one} and {other}"


def _same(what: str, one: Counter[Any], other: Counter[Any]) -> Iterator[str]:
    for thing in sorted((one - other).keys() | (other - one).keys(), key=str):
        yield f"{what}: {thing} occurs {one[thing]} and {other[thing]} times"


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text)


def main() -> int:
    """Check a folder and print what was found."""
    parser = argparse.ArgumentParser(prog="python -m demo.checker", description=__doc__)
    parser.add_argument("folder", type=Path, metavar="DIR", help="where a run was kept")
    parser.add_argument("--json", action="store_true", help="the figures as one JSON object")
    options = parser.parse_args()
    try:
        found = check(options.folder)
    except (OSError, ValueError, sqlite3.Error) as error:
        print(f"{options.folder}: cannot be checked ({error})", file=sys.stderr)
        return 2
    for fault in found.faults:
        print(fault, file=sys.stderr)
    print(json.dumps(found.figures) if options.json else found.table())
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
