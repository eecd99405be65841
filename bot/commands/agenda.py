"""Show what would be sent when, if nobody answered: a prescription file's days."""

import argparse
import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bot.domain.agenda import Due
    from bot.rules.prescription_file import PrescriptionFile


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The file, and which days."""
    parser.add_argument("file", type=Path, help="prescription in TOML")
    parser.add_argument("--from", dest="first", type=dt.date.fromisoformat, required=True, metavar="DATE")
    parser.add_argument("--days", type=int, default=7, help="how many local days (default 7)")
    parser.add_argument("--json", action="store_true", help="one JSON object, and nothing else")


def run(args: argparse.Namespace) -> int:
    """Walk the days; needs no setting, database or network."""
    import json  # noqa: PLC0415 - see the package
    import sys  # noqa: PLC0415 - the same

    from bot.domain import local_time  # noqa: PLC0415 - the same
    from bot.rules import prescription_file  # noqa: PLC0415 - the same

    file = prescription_file.read(args.file)
    zone = local_time.zone(file.zone)
    messages = [
        {
            "what": due.what.value,
            "on": due.on.isoformat(),
            "ordinal": due.ordinal,
            "local": local_time.local(at, zone).isoformat(),
            "utc": at.astimezone(dt.UTC).isoformat(),
        }
        for at, due in _walk(file, args.first, args.days)
    ]
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr] # the real standard output
    if args.json:
        print(json.dumps({"client": file.client, "zone": file.zone, "messages": messages}))
        return 0
    for message in messages:
        print(f"{str(message['local'])[:16].replace('T', ' ')}  {message['what']}")
    print(f"{len(messages)} messages in {args.days} days, {file.zone}")
    return 0


def _walk(file: "PrescriptionFile", first: dt.date, days: int) -> "Iterator[tuple[dt.datetime, Due]]":
    """Every message of the days, nobody answering; the client is heard once, just before the first day."""
    from dataclasses import replace  # noqa: PLC0415 - see the package

    from bot.domain import agenda, local_time  # noqa: PLC0415 - the same
    from bot.domain.prescription import InForce  # noqa: PLC0415 - the same
    from bot.domain.track import Mode, Said, Track  # noqa: PLC0415 - the same
    from bot.rules import prescription_file  # noqa: PLC0415 - the same

    zone = local_time.zone(file.zone)
    now = local_time.instant(first, dt.time(), zone)
    end = local_time.instant(first + dt.timedelta(days=max(days, 0)), dt.time(), zone)
    track = Track(
        zone=file.zone,
        versions=(InForce(1, prescription_file.prescription(file)),),
        mode=Mode.ALL,
        cap=file.most_messages_a_day,
        done={},
        closed=frozenset(),
        said=(),
        later_at=None,
        laters_today=0,
        pause=None,
        last_heard_at=now - dt.timedelta(minutes=1),
        last_check_in_on=None,
    )
    next_at: dt.datetime | None = now
    while next_at is not None and next_at < end:
        now = next_at
        decision = agenda.decide(track, now)
        for due in decision.say:
            yield now, due
            track = replace(track, said=(*track.said, Said(due.what, due.on, due.ordinal, now)))
        next_at = decision.next_at
