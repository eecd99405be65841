"""The invented clinic of the demo, its people, and how they come into the chat room.

Every name is made up; the phone numbers come from ranges reserved for fiction.
"""

import datetime as dt
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from bot import serve, settings
from bot.domain.duties import Named
from bot.domain.people import Role
from bot.service import clinic_form, duties, setup
from bot.store import migrate, vault
from bot.store.base import Store, open_engine, read_url
from demo.exempt import Exempt
from demo.room.room import DEFAULT_TOKEN
from demo.room.wire import BOT_USERNAME
from demo.room_client import CHECKOUT, RoomClient, RoomError

PRESCRIPTIONS = Path(__file__).parent / "prescriptions"
THERAPIST = "Nuala Brackenfield"
FALLBACK = "Tom Aldershaw"
CLINIC = {
    "code": "lantern-yard",
    "name": "Lantern Yard Physiotherapy",
    "zone": "Europe/Dublin",
    "country": "IE",
    "hours": "mon-fri 09:00-17:00",
    "closed_on": "",
    "phone": "020 912 0145",
    "out_of_hours_line": "020 912 0199",
    "emergency_number": "112",
    "digest_day": "mon",
    "digest_at": "09:15",
    "labels": "codes",
}


@dataclass(frozen=True)
class AtInstant:
    """A clock for one act of the clinic: it shows the room's instant."""

    at: dt.datetime

    def now(self) -> dt.datetime:
        """The instant."""
        return self.at


@dataclass(frozen=True)
class Invited:
    """A client whose invite is ready to be opened."""

    code: str
    link_code: str
    digits: str


class Clinic:
    """The clinic's side: what its command line would do, at the room's time."""

    def __init__(self, store: Store, room: RoomClient) -> None:
        self._store = store
        self._room = room
        self.therapist = 0
        self.fallback = 0

    def _clock(self) -> AtInstant:
        return AtInstant(self._room.now())

    def open(self) -> None:
        """Set the clinic up; therapist and fallback contact open their invites."""
        setup.add_clinic(self._store.begin, self._clock(), clinic_form.read(CLINIC))
        self.therapist = self._link("T1", THERAPIST, Role.THERAPIST)
        self.fallback = self._link("F1", FALLBACK, Role.FALLBACK)

    def colleague(self, code: str, name: str, role: Role = Role.COLLEAGUE) -> int:
        """Somebody with a duty of her own, or of another role, opens her invite; her id in the room."""
        return self._link(code, name, role)

    def duty(self, named: Named, who: str | None = None, whose: str | None = None) -> None:
        """The clinic names who answers for something."""
        duties.name(self._store.begin, self._clock(), str(CLINIC["code"]), named, who, whose)

    def _link(self, code: str, name: str, role: Role) -> int:
        registration = "DEMO-0001" if role is Role.THERAPIST else None
        new = setup.NewStaff(code, name, role, registration)
        made = setup.add_staff(self._store.begin, self._clock(), CLINIC["code"], new)
        person = self._room.person(name)
        self._room.start(person, made.code)
        self._room.wait_for(person, lambda shown: "four digits" in shown.text)
        self._room.say(person, made.digits)
        self._room.wait_for(person, lambda shown: "linked" in shown.text)
        return person

    def add_client(self, file: Path) -> Invited:
        """Enrol a client; her invite is not opened yet."""
        code, made = setup.add_client(self._store.begin, self._clock(), Exempt(), CLINIC["code"], "T1", file)
        return Invited(code, made.code, made.digits)

    def enrol(self, invited: Invited, name: str) -> int:
        """A client opens her invite, says the digits, agrees, and confirms her time; her id in the room."""
        room, person = self._room, self._room.person(name)
        room.start(person, invited.link_code)
        room.wait_for(person, lambda shown: "four digits" in shown.text)
        room.say(person, invited.digits)
        room.wait_for(person, lambda shown: "Do you agree?" in shown.text)
        room.press(person, "I agree")
        room.wait_for(person, lambda shown: "where you are" in shown.text)
        room.press(person, "Yes")
        room.wait_for(person, lambda shown: shown.text.startswith("All set"))
        return person


def bot_environment(folder: Path, room_url: str) -> dict[str, str]:
    """The bot's settings for a folder: its own key, a SQLite file, the room as the platform."""
    key_file = folder / "data.key"
    if not key_file.exists():
        key_file.touch(mode=0o600)
        key_file.write_text(vault.new_master_key() + "\n", encoding="utf-8")
    return {
        "BOT_TOKEN": DEFAULT_TOKEN,
        "BOT_API_URL": room_url,
        "DATABASE_URL": f"sqlite:///{folder / 'programme.sqlite3'}",
        "ERASURES_FILE": str(folder / "erasures.txt"),
        "DATA_KEYS_FILE": str(key_file),
    }


def _read(environment: Mapping[str, str]) -> settings.DatabaseSettings:
    """The settings as the bot's process will read them; this one's own surroundings stay as they are."""
    before = dict(os.environ)
    os.environ.update(environment)
    try:
        return settings.read(settings.DatabaseSettings)
    finally:
        os.environ.clear()
        os.environ.update(before)


def open_store(environment: Mapping[str, str]) -> Store:
    """The demo's database, brought to the newest schema."""
    known = _read(environment)
    engine = open_engine(read_url(known.database_url.get_secret_value()))
    migrate.upgrade(engine)
    engine.dispose()
    return serve.open_store(known, AtInstant(dt.datetime(2026, 1, 1, tzinfo=dt.UTC)))


@contextmanager
def running_bot(
    environment: Mapping[str, str],
    room_url: str,
    command: Sequence[str] = ("-m", "demo.bot"),
) -> Iterator[subprocess.Popen[str]]:
    """The bot in its own process, ready; it is told to stop at the end of the block."""
    process = subprocess.Popen(
        [sys.executable, *command, "--room", room_url],
        cwd=CHECKOUT,
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        line = process.stdout.readline() if process.stdout else ""
        if line.strip() != "ready":
            raise RoomError("The bot did not start; what went wrong stands above.")
        yield process
    finally:
        process.terminate()
        try:
            process.wait(15)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout:
            process.stdout.close()


def invite_link(invited: Invited) -> str:
    """The deep link of an invite."""
    return f"https://t.me/{BOT_USERNAME}?start={invited.link_code}"


def from_today(file: Path, now: dt.datetime) -> Path:
    """A prescription file that starts on the demo's day, made from one with fixed dates."""
    text = file.read_text(encoding="utf-8")
    today = now.date()
    text = re.sub(r"starts_on = \S+", f"starts_on = {today}", text)
    text = re.sub(r"review_on = \S+", f"review_on = {today + dt.timedelta(weeks=6)}", text)
    moved = Path(tempfile.mkdtemp(prefix="programme-demo-")) / file.name
    moved.write_text(text, encoding="utf-8")
    return moved
