"""`python -m demo.room`: start the local chat room."""

import argparse
from pathlib import Path

from demo.room import clock, server
from demo.room.limits import LimitSettings
from demo.room.room import DEFAULT_TOKEN, Room, RoomSettings
from demo.room.shapes import parse_instant


def main() -> None:
    """Read the options and serve until stopped."""
    parser = argparse.ArgumentParser(prog="python -m demo.room", description="A local chat room for one bot.")
    parser.add_argument("--port", type=int, default=0, help="port on 127.0.0.1; 0 takes any free one")
    parser.add_argument("--record", type=Path, help="file for one JSON line per call, update and act")
    parser.add_argument("--frozen", action="store_true", help="the clock stands still until it is moved")
    parser.add_argument(
        "--at", type=parse_instant, help="first instant, as 2026-03-02T09:00:00Z; now if left out"
    )
    parser.add_argument("--token", default=DEFAULT_TOKEN, help="the bot's token, number:text")
    parser.add_argument("--no-limits", action="store_true", help="no sending limits, for load tests")
    parser.add_argument(
        "--chat-burst", type=int, default=LimitSettings().chat_burst, help="messages a chat takes at once"
    )
    parser.add_argument("--seed", type=int, default=1, help="for the update numbers after a silent week")
    parser.add_argument("--first-update-id", type=int, default=700_000_001, help="number of the first update")
    options = parser.parse_args()
    settings = RoomSettings(
        start_at=options.at or clock.real_now(),
        frozen=options.frozen,
        token=options.token,
        record_path=options.record,
        limits=None if options.no_limits else LimitSettings(chat_burst=options.chat_burst),
        first_update_id=options.first_update_id,
        seed=options.seed,
    )
    server.serve(Room(settings), options.port)


if __name__ == "__main__":
    main()
