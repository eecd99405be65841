"""`demo/run`: the chat room with the bot in it, to be tried in a browser; or four weeks played by script."""

import argparse
import datetime as dt
import shutil
import signal
import sys
import tempfile
import threading
from pathlib import Path
from typing import TYPE_CHECKING

from demo.room_client import RoomClient, RoomError, start_room

if TYPE_CHECKING:
    from demo import cast

PORT = 8470
MORNING = dt.time(
    7, 0, tzinfo=dt.UTC
)  # on a day that is named: before the first reminders of the demo's people


def main() -> int:
    """Read the options and run; 0 when all went well, 2 when it could not."""
    parser = argparse.ArgumentParser(prog="demo/run", description=__doc__)
    parser.add_argument("--port", type=int, default=PORT, help=f"of the page, {PORT} if left out; 0 for any")
    parser.add_argument(
        "--on",
        type=dt.date.fromisoformat,
        metavar="DATE",
        help="the day the clock starts on, early in the morning; now if left out",
    )
    parser.add_argument("--scripted", action="store_true", help="play four weeks of six clients and leave")
    parser.add_argument("--seed", type=int, default=1, help="for the scripted lives; the same gives the same")
    parser.add_argument("--keep", type=Path, metavar="DIR", help="leave record and database there")
    parser.add_argument("--json", action="store_true", help="scripted: figures as JSON on the last line")
    options = parser.parse_args()
    try:
        if options.scripted:
            from demo import scripted  # noqa: PLC0415 - heavy, and only here

            return scripted.run(options.seed, options.keep, as_json=options.json)
        return _interactive(options.port, options.keep, options.on)
    except RoomError as error:
        print(error, file=sys.stderr)
        return 2


def _interactive(port: int, keep: Path | None, on: dt.date | None) -> int:
    folder = keep or Path(tempfile.mkdtemp(prefix="programme-demo-"))
    folder.mkdir(parents=True, exist_ok=True)
    at = None if on is None else dt.datetime.combine(on, MORNING)
    stop = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stop.set())
    try:
        with start_room(port, record=folder / "record.jsonl", at=at) as room:
            print(f"open in a browser:  {room.url}/", flush=True)
            from demo import cast  # noqa: PLC0415 - heavy: the page is there before the bot is

            environment = cast.bot_environment(folder, room.url)
            store = cast.open_store(environment)
            with cast.running_bot(environment, room.url):
                clinic = cast.Clinic(store, room)
                clinic.open()
                _hand_over(clinic, room)
                stop.wait()
            store.close()
    finally:
        if keep is None:
            shutil.rmtree(folder, ignore_errors=True)
    return 0


def _hand_over(clinic: "cast.Clinic", room: RoomClient) -> None:
    """Print who is in the room, and an invite for a client who is still to come."""
    from demo import cast  # noqa: PLC0415 - as above
    from demo.exempt import NOTE  # noqa: PLC0415 - the same

    invited = clinic.add_client(cast.from_today(cast.PRESCRIPTIONS / "K1.toml", room.now()))
    print(NOTE)
    print()
    print(f"{cast.THERAPIST} (therapist) and {cast.FALLBACK} (fallback contact) are in the room.")
    print(f"A client, {invited.code}, is waiting for her invite. Make a new person on the page and open it:")
    print(f"  invite:  {cast.invite_link(invited)}")
    print(f"  digits her therapist tells her aloud:  {invited.digits}")
    print()
    print("Move the clock on the page. Ctrl-C ends the demo.", flush=True)


if __name__ == "__main__":
    sys.exit(main())
