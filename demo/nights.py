"""Two nights at 02:10, played through the chat room: a clinic with somebody on call, and one without.

`python -m demo.nights` prints each alert's history twice: as the database holds it, and as the therapist
reads it on the page behind *Her words*.
"""

import argparse
import datetime as dt
import json
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from bot.conversation import copy
from bot.domain.duties import Duty, Named, night_hours
from bot.service import clinic_form
from bot.store import alerts, people
from bot.store.base import Store
from demo import cast
from demo.room_client import RoomClient, RoomError, start_room

EVENING = dt.datetime(2026, 3, 2, 17, 30, tzinfo=dt.UTC)  # Monday; Dublin is on UTC in March
NIGHTS = "mon-sun 17:00-09:00"
WORDS = "woke up soaked, blood is pouring out of me and i feel faint"
ON_CALL = "Orla Fennimore"


@dataclass
class Night:
    """What came of one night. steps: the alert's history as (time, what); page: what the page shows of it."""

    title: str
    client_read: list[str] = field(default_factory=list)
    steps: list[tuple[str, str]] = field(default_factory=list)
    page: str = ""


@dataclass
class Stage:
    """The room at half past five in the evening, with a client who sleeps and the clinic's people."""

    room: RoomClient
    store: Store
    clinic: cast.Clinic
    client: int
    on_call: int | None

    def at(self, day: int, clock: str) -> None:
        """Let the time come."""
        self.room.move(to=f"2026-03-{day:02}T{clock}:00Z")

    def press(self, person: int, *labels: str) -> None:
        """Press buttons one after the other, each on the newest message that has it."""
        for label in labels:
            shown = next(m for m in reversed(self.room.from_bot(person)) if label in m.labels)
            self.room.press(person, label, message_id=shown.message_id)


@contextmanager
def opened(folder: Path, *, on_call: bool) -> Iterator[Stage]:
    """A clinic in a room of its own."""
    with start_room(frozen=True, at=EVENING, record=folder / "record.jsonl") as room:
        environment = cast.bot_environment(folder, room.url)
        store = cast.open_store(environment)
        try:
            with cast.running_bot(environment, room.url):
                clinic = cast.Clinic(store, room)
                clinic.open()
                person = None
                if on_call:
                    person = clinic.colleague("O1", ON_CALL)
                    hours = night_hours(clinic_form.hours(NIGHTS, overnight=True))
                    clinic.duty(Named(Duty.ON_CALL, hours=hours), "O1")
                client = clinic.enrol(clinic.add_client(cast.PRESCRIPTIONS / "K1.toml"), "Aoife")
                yield Stage(room, store, clinic, client, person)
        finally:
            store.close()


def watched(stage: Stage) -> None:
    """Somebody is on call: she is told at once and again, the fallback contact too; she sees it at 03:45."""
    if stage.on_call is None:
        raise RoomError("Nobody is on call in this clinic.")
    stage.at(3, "02:10")
    stage.room.say(stage.client, WORDS)
    stage.at(3, "02:32")
    stage.press(stage.client, "Not yet")
    stage.at(3, "03:45")
    stage.press(stage.on_call, "Seen")
    stage.at(3, "03:55")
    stage.press(stage.on_call, "Spoke to her")


def unwatched(stage: Stage) -> None:
    """Nobody is: silent at 02:10, from 09:00 on the ladder; the fallback contact sees it at 10:35."""
    stage.at(3, "02:10")
    stage.room.say(stage.client, WORDS)
    stage.at(3, "02:32")
    stage.press(stage.client, "Yes, I did")
    stage.at(3, "10:35")
    stage.press(stage.clinic.fallback, "Seen", "Passed on to …")
    stage.room.say(stage.clinic.fallback, "Maternity unit, they kept her in")
    stage.press(stage.clinic.fallback, "Keep paused")


NIGHTS_PLAYED: tuple[tuple[str, bool, Callable[[Stage], None]], ...] = (
    ("a clinic with somebody on call", True, watched),
    ("a clinic without", False, unwatched),
)


def told(stage: Stage, night: Night) -> None:
    """Read what came of it: from the database, and from the therapist's chat as the page shows it."""
    with stage.store.begin() as tx:
        (clinic,) = people.clinics(tx)
        (client,) = people.clients_in(tx, clinic.id)
        found = alerts.latest_stopping(tx, client.id)
        if found is None:
            raise RoomError("There is no alert.")
        for event in alerts.history(tx, found.id):
            what = copy.text("en", f"alert.event.{event.kind}", {"note": event.note or ""})
            night.steps.append((f"{event.at:%a %H:%M}", what))
    stage.press(stage.clinic.therapist, "Her words")
    shown = next(m for m in stage.room.from_bot(stage.clinic.therapist) if "History:" in m.text)
    night.page = shown.text.partition("History:\n")[2]
    since = [m for m in stage.room.from_bot(stage.client) if m.at >= dt.datetime(2026, 3, 3, tzinfo=dt.UTC)]
    night.client_read = [f"{m.at:%H:%M} {m.text.splitlines()[0]}" for m in since]


def play(folder: Path) -> list[Night]:
    """Both nights, each in a folder of its own."""
    nights = []
    for title, on_call, act in NIGHTS_PLAYED:
        place = folder / ("watched" if on_call else "unwatched")
        place.mkdir(parents=True)
        with opened(place, on_call=on_call) as stage:
            act(stage)
            night = Night(title)
            told(stage, night)
            nights.append(night)
    return nights


def main() -> int:
    """Play them and print them."""
    parser = argparse.ArgumentParser(prog="python -m demo.nights", description=__doc__)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    options = parser.parse_args()
    try:
        with tempfile.TemporaryDirectory(prefix="programme-nights-") as folder:
            nights = play(Path(folder))
    except RoomError as error:
        print(error, file=sys.stderr)
        return 2
    if options.json:
        print(json.dumps([vars(night) for night in nights]))
        return 0
    for night in nights:
        print(f"{night.title}\n  in the database:")
        print("\n".join(f"    {at}  {what}" for at, what in night.steps))
        print("  on the page:")
        print("\n".join(f"    {line}" for line in night.page.splitlines()))
        print("  what she read:")
        print("\n".join(f"    {line}" for line in night.client_read))
        print()
    return 0


if __name__ == "__main__":
    sys.exit(main())
