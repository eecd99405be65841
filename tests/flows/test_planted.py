"""Words planted in every flow, then looked for where none may be: database, its log, logs, temporary files.

OWASP Cheat Sheets on logging and on cryptographic storage (from memory): no health data, names, tokens or
free text in logs; sensitive data is encrypted where it is kept, and the key kept apart.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot import commands
from bot.domain.duties import Duty, Named
from bot.domain.people import Role
from demo import cast
from demo.room.room import DEFAULT_TOKEN
from demo.room_client import start_room
from tests.fixtures import hunting
from tests.flows.conftest import MONDAY, Scene
from tests.flows.failing_bot import FAILS, FAILS_IN_SQL

# By where each is planted. Every one is looked for afterwards; what is asked for by name shows some of them.
WORDS = {
    "name of the clinic": "Plantedharbour Steps",
    "phone of the clinic": "020 910 0177",
    "out-of-hours line": "020 910 0178",
    "name of the therapist": "Plantedtherapist",
    "name of the fallback": "Plantedfallback",
    "name of the administrator": "Plantedadministrator",
    "who recorded a duty": "Plantedrecorder",
    "first name on the platform": "Plantedfirst",
    "initials": "Zqvx.Wjk",
    "goal in a file": "plantedgoal",
    "message": "plantedzebra",
    "edited message": "plantededit",
    "words after a command": "plantedargument",
    "caption": "plantedcaption",
    "name of a file": "plantedfilename",
    "fault in a file": "plantedzone",
    "emergency": "plantedemergency",
    "cue": "plantedkettle",
    "wish to correct": "plantedcorrection",
    "stranger": "plantedstranger",
    "whom an alert was passed to": "Plantedcolleague",
    "who reviewed": "Plantedreviewer",
    "finding": "plantedfinding",
    "reason of a referral": "plantedreferral",
    "note to a client": "plantednote",
    "reason of a discharge": "planteddischarge",
    "search in a list": "plantedsearch",
    "answer in a form": "plantedanswer",
    "failure": FAILS,
    "failing statement": FAILS_IN_SQL,
}


@pytest.fixture
def planted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Scene]:
    """A clinic whose bot runs at DEBUG, its own temporary folder beside its database."""
    home, temporary, outside = tmp_path / "bot", tmp_path / "bot/tmp", tmp_path / "outside"
    for folder in (home, temporary, outside):
        folder.mkdir()
    monkeypatch.setenv("TMPDIR", str(temporary))
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    monkeypatch.setattr(cast, "THERAPIST", f"{WORDS['name of the therapist']} Brackenfield")
    monkeypatch.setattr(cast, "FALLBACK", f"{WORDS['name of the fallback']} Aldershaw")
    monkeypatch.setitem(cast.CLINIC, "name", WORDS["name of the clinic"])
    monkeypatch.setitem(cast.CLINIC, "phone", WORDS["phone of the clinic"])
    monkeypatch.setitem(cast.CLINIC, "out_of_hours_line", WORDS["out-of-hours line"])
    monkeypatch.setitem(cast.CLINIC, "labels", "initials")
    with start_room(frozen=True, at=MONDAY, record=outside / "record.jsonl") as room:
        environment = {
            **cast.bot_environment(home, room.url),
            "LOG_LEVEL": "debug",
            "TMPDIR": str(temporary),
            "ERRORS_TO": str(home / "errors.log"),
        }
        store = cast.open_store(environment)
        with cast.running_bot(environment, room.url, ("-m", "tests.flows.failing_bot")):
            clinic = cast.Clinic(store, room)
            clinic.open()
            yield Scene(room, store, home, environment, clinic, lambda: None)
        store.close()


def plan(scene: Scene, code: str) -> Path:
    """A prescription with words of hers in it, kept outside the bot's folder."""
    text = (cast.PRESCRIPTIONS / "K1.toml").read_text(encoding="utf-8")
    more = f'client = "{code}"\ninitials = "{WORDS["initials"]}"\ngoal = "{WORDS["goal in a file"]}"'
    file = scene.folder.parent / "outside" / f"{code}.toml"
    file.write_text(text.replace('client = "K1"', more), encoding="utf-8")
    return file


def everybody(scene: Scene) -> dict[str, int]:
    """All who take part, with names of their own on the platform."""
    clinic, room = scene.clinic, scene.room
    clinic.duty(Named(Duty.SAFEGUARDING, recorded_by=WORDS["who recorded a duty"]), "F1")
    clinic._link("A1", f"{WORDS['name of the administrator']} Vell", Role.ADMINISTRATOR)
    people = {"stranger": room.person(f"{WORDS['first name on the platform']} Nobody")}
    for code in ("K1", "K2"):
        invited = clinic.add_client(plan(scene, code))
        people[code] = clinic.enrol(invited, f"{WORDS['first name on the platform']} {code}")
    return people


def clients_side(scene: Scene, people: dict[str, int]) -> None:
    """What clients and a stranger write and send."""
    room, her = scene.room, people["K1"]
    room.start(people["stranger"])
    room.say(people["stranger"], f"hello {WORDS['stranger']}")
    room.move(to="2026-03-02T09:00:00Z")
    room.say(her, f"my {WORDS['message']} sings at night")
    sent = room.say(her, "2")
    room.edit(her, int(sent["message_id"]), f"2 and {WORDS['edited message']}")
    room.say(her, f"/week {WORDS['words after a command']}")
    room.send_media(her, "photo", WORDS["caption"])
    room.say(her, "/times")
    room.press(her, "Change 13:00")
    room.say(her, f"13:15 after {WORDS['cue']}")
    room.say(her, "/privacy")
    room.press(her, "Send me what is kept")
    room.press(her, "Something is wrong")
    room.press(her, "Something else")
    room.say(her, f"not the 4th, {WORDS['wish to correct']}")
    room.say(her, f"{WORDS['failure']} twice")
    room.say(her, f"{WORDS['failing statement']} twice")
    room.move(by_s=60)  # three tries, and then it is set aside


def therapists_side(scene: Scene, people: dict[str, int]) -> None:
    """What a therapist types, sends and signs; an alert from her words to who reviewed her."""
    room, me, her = scene.room, scene.clinic.therapist, people["K1"]
    room.document(me, f"{WORDS['name of a file']}.toml", plan(scene, "K1").read_bytes())
    broken = plan(scene, "K1").read_text(encoding="utf-8").replace("Europe/Dublin", WORDS["fault in a file"])
    room.document(me, "slips.toml", broken.encode())
    for text in ("/clients", "/client K1", "/notes K1", "/digest", "/alerts", "/people"):
        room.say(me, text)
    room.say(me, f"/client {WORDS['search in a list']}")
    room.say(me, "/new K7")
    room.say(me, WORDS["answer in a form"])
    room.say(me, f"/write K2 Well done, {WORDS['note to a client']}")
    room.press(me, "Send to Zqvx.Wjk K2")
    room.say(me, "/client K2")
    room.press(me, "Visit")
    room.press(me, "Attended")
    room.say(me, f"3/5/6//8 and {WORDS['finding']}")
    room.press(me, "Refer")
    room.say(me, f"to urology, {WORDS['reason of a referral']}")
    room.say(me, f"/finish K2 goals reached, {WORDS['reason of a discharge']}")
    room.press(me, "Close K2" if "Close K2" in room.last(me).labels else room.last(me).labels[0])
    room.say(her, f"I soaked two pads in an hour, {WORDS['emergency']}")
    room.press(me, "Her words")
    room.press(me, "Seen")
    room.press(me, "Passed on to …")
    room.say(me, f"Dr {WORDS['whom an alert was passed to']}")
    room.press(me, "Resume programme")
    room.say(me, f"seen by Dr {WORDS['who reviewed']} on Monday")


def erased(scene: Scene, people: dict[str, int]) -> None:
    """One of them has everything erased."""
    room, her = scene.room, people["K2"]
    room.say(her, "/privacy")
    room.press(her, "Erase it")
    room.press(her, "Yes, erase")
    room.move(by_s=180)


def hits(scene: Scene, asked: Path) -> list[str]:
    """Every word in the bot's folder: database, its log, what it wrote to standard error, temporary files."""
    key_file = scene.folder / "data.key"
    key = key_file.read_text(encoding="ascii").strip().partition(":")[2]
    numbers = {f"number {person['id']}": str(person["id"]) for person in scene.room.people()}
    words = {**WORDS, **numbers, "token": DEFAULT_TOKEN, "key": key}
    return hunting.in_folder(scene.folder, words, [asked, key_file])


def test_planted_words_are_nowhere(
    planted: Scene, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = planted.folder / "asked"
    asked.mkdir()
    people = everybody(planted)
    clients_side(planted, people)
    therapists_side(planted, people)
    # Everything went through: what was planted stands in the chats, and the faults in the log by their kind.
    shown = "\n".join(text for person in planted.room.people() for text in planted.texts(int(person["id"])))
    for place in (
        "message",
        "emergency",
        "note to a client",
        "wish to correct",
        "cue",
        "reason of a discharge",
    ):
        assert WORDS[place] in shown, place
    for table in ("finding", "review", "draft", "unread_note", "alert_event", "ending"):
        assert planted.sql(f"select count(*) from {table}") != [(0,)], table  # noqa: S608 - names of ours
    log = (planted.folder / "errors.log").read_text(encoding="utf-8")
    assert '"event": "update_failed"' in log
    assert '"event": "update_set_aside"' in log
    assert "OperationalError" in log
    files = {path.name for path in planted.folder.rglob("*")}
    assert {"programme.sqlite3", "programme.sqlite3-wal", "errors.log", "erasures.txt"} - files <= {
        "erasures.txt"
    }
    # What is not private can be seen, so the hunt looks in the right place.
    assert hunting.in_folder(planted.folder, {"zone": "Europe/Dublin"}, [asked]) != []
    assert hits(planted, asked) == []

    # What is asked for by name holds it, where it was asked for and nowhere else.
    for name, value in planted.environment.items():
        monkeypatch.setenv(name, value)
    files_of_digest = [
        part for kind in ("png", "pdf", "csv") for part in (f"--{kind}", str(asked / f"d.{kind}"))
    ]
    for arguments in (
        ("digest", "--json", *files_of_digest),
        ("summary", "K1", "--pdf", str(asked / "s.pdf")),
        ("export", "K1", "--fhir", "--out", str(asked / "f.json")),
        ("diary", "K1", "--csv"),
        ("backup", str(planted.folder / "backup.zip")),
    ):
        assert commands.run(arguments) == 0, arguments
    told = capsys.readouterr().out
    assert WORDS["emergency"] in told + "".join(p.read_text(encoding="utf-8") for p in asked.glob("*.json"))
    erased(planted, people)
    assert planted.sql("select stage from client where code = 'K2'") == [("erased",)]
    assert hits(planted, asked) == []


# ---- The hunt can fail -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "form", ["utf-8", "utf-16-le", "utf-16-be", "hex", "base64, shifted by 0", "base64, shifted by 1",
             "base64, shifted by 2", "base64 of utf-16, shifted by 1"],
)  # fmt: skip
def test_planted_words_are_found_in_each_form(tmp_path: Path, form: str) -> None:
    word = WORDS["message"]
    (tmp_path / "log").write_bytes(b"before " + hunting.forms(word)[form] + b" after")
    found = hunting.in_folder(tmp_path, {"message": word})
    assert any(form in hit for hit in found)


def test_planted_words_are_found_in_a_database_a_log_and_an_archive(tmp_path: Path) -> None:
    word = WORDS["message"]
    with sqlite3.connect(tmp_path / "clear.sqlite3") as connection:
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("CREATE TABLE note (text)")
        connection.execute("INSERT INTO note VALUES (?)", (f"my {word.upper()} sings",))
        connection.commit()
        in_wal = hunting.in_folder(tmp_path, {"message": word})
    connection.close()
    in_file = hunting.in_folder(tmp_path, {"message": word})
    assert any("clear.sqlite3-wal" in hit for hit in in_wal)
    assert any("clear.sqlite3: " in hit for hit in in_file)
    packed = tmp_path / "packed"
    packed.mkdir()
    (packed / "text").write_text(word * 2, encoding="utf-8")
    shutil.make_archive(str(tmp_path / "archive"), "zip", packed)
    shutil.rmtree(packed)
    assert any("archive.zip!text" in hit for hit in hunting.in_folder(tmp_path, {"message": word}))


def test_planted_words_are_all_used() -> None:
    """A word that nothing plants would be found nowhere, and prove nothing."""
    source = Path(__file__).read_text(encoding="utf-8")
    assert [place for place in WORDS if source.count(place) < 2] == []
