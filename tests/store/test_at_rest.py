"""What somebody finds who takes the file, and what is left of a person whose key is destroyed."""

import datetime as dt
from pathlib import Path

import pytest
import sqlalchemy as sa

from bot.domain.alerts import Alert
from bot.domain.day_book import Meaning, SetReport
from bot.domain.delivery import Kind
from bot.domain.drafts import Draft, DraftKind
from bot.domain.duties import Duty, Named
from bot.domain.endings import Ending, EndingKind
from bot.domain.extras import Extra
from bot.domain.levels import Level
from bot.domain.people import Client, Invite, Role
from bot.domain.visits import Review, ReviewOutcome
from bot.store import (
    alerts,
    chats,
    client_notes,
    diary,
    drafts,
    duties,
    endings,
    erase,
    extras,
    hand_overs,
    inbox,
    notices,
    office_changes,
    outbox,
    people,
    sent_files,
    sign_offs,
    tables,
    visits,
)
from bot.store.base import Store
from bot.store.diary import ChoiceRow
from bot.store.ids import new_id
from bot.store.inbox import Received
from bot.store.outbox import Letter
from bot.store.sent_files import SentFile
from bot.store.sign_offs import SignOff
from bot.store.types import Sealed
from bot.store.vault import SealError
from tests.fixtures.clock import MovableClock
from tests.store import prepared
from tests.store.prepared import BOT
from tests.store.test_people import version

NUMBER = 7_700_900_123
PRIVATE = (
    "Harbour Steps", "020 910 0101", "020 910 0102", "Oona", "Quillfeather", "REG 0001", "Zq.W.",
    "planted", "Plantedname", str(NUMBER), "a-planted-code", "0417", "wound-opens",
    "Planted Recorder", "Planted Signer", "REG 0777", "020 910 0188",
    "Planted Giver", "Planted Taker", "Planted Changer", "020 910 0187",
)  # fmt: skip


def fill(store: Store, now: dt.datetime) -> Client:
    """Something private in every place that takes it."""
    with store.begin() as tx:
        (anna,) = prepared.enrol(tx, now)
        invite = Invite(new_id(now), Role.CLIENT, anna.id, now, 0, closed=False)
        chats.add_invite(tx, invite, "a-planted-code", "0417", now)
        chat = chats.link(tx, chats.chat_of(tx, BOT, NUMBER, now), Role.CLIENT, anna.id, now)
        chats.wait(tx, anna.id, {"said": "planted waiting"}, now)
        raw = b'{"from": {"id": 7700900123, "first_name": "Plantedname"}, "text": "planted raw"}'
        inbox.accept(tx, BOT, [Received(1, NUMBER, raw), Received(2, None, raw)], now)
        inbox_id = tx.connection.scalars(sa.select(tables.inbox.c.id)).first()
        assert inbox_id is not None
        diary.file_note(tx, anna.id, inbox_id, "planted note", now, now)
        diary.report_sets(tx, anna.id, SetReport(now.date(), Meaning.TOTAL, 3, now, "k"), now)
        diary.choose(tx, anna.id, ChoiceRow((dt.time(9),), ("planted cue",)), now)
        prescription = version(1, now.date())
        people.add_prescription(tx, anna.id, prescription, {"n": "planted goal"}, anna.therapist_id, now)
        alert = Alert(
            new_id(now), anna.id, Level.SAME_DAY, "ordinary", ("wound-opens",), "planted words", now, 0
        )
        alerts.add(tx, alert)
        alerts.add_event(tx, alert, "closed", now, anna.therapist_id, "planted outcome")
        found = {"words": "planted finding", "fields": {}}
        visits.add_finding(tx, anna.id, anna.therapist_id, now.date(), found, now)
        review = Review(now.date(), ReviewOutcome.REFER, "planted reason", None, "T1", now)
        visits.add_review(tx, anna.id, anna.therapist_id, review)
        answers = {"goal": "planted answer"}
        drafts.put(tx, Draft(new_id(now), anna.therapist_id, "C2", DraftKind.NEW, "", answers), now)
        extras.report(tx, anna.id, Extra(now.date(), "planted extra", now, "x"), now)
        endings.add(tx, anna.id, Ending(EndingKind.DISCHARGED, now, reason="planted end"))
        notices.add(tx, anna.id, 1, "planted why", now)
        given = hand_overs.New(anna.id, anna.therapist_id, anna.therapist_id, now.date(), "Planted Giver")
        hand_overs.hand_over(tx, given, now)
        hand_overs.end(tx, hand_overs.of_clients(tx, [anna.id])[0], "Planted Taker", now)
        change = office_changes.Change("phone", "020 910 0187", "020 910 0186", "Planted Changer")
        office_changes.add(tx, anna.clinic_id, change, now)
        client_notes.add(tx, anna.id, anna.therapist_id, "planted note to her", now, now)
        sent_files.add(
            tx, SentFile(new_id(now), anna.therapist_id, "planted file id", "planted name", 0), now
        )
        solo = Named(Duty.SOLO, recorded_by="Planted Recorder", number="020 910 0188")
        duties.add(tx, anna.clinic_id, solo, now)
        signed = SignOff("en", "d" * 64, {}, "Planted Signer", "REG 0777", now.date())
        sign_offs.add(tx, signed, now)
        letter = Letter("n", chat.id, anna.id, Kind.DIGEST, {"c": "planted letter"}, picture=b"planted png")
        outbox.put(tx, letter, now)
        (left,) = prepared.enrol(tx, now, ("C9",))
        erase.erase(tx, left.id, left.clinic_id, {"outcome": "planted record"}, now)
    return anna


def test_every_sealed_column_is_tried() -> None:
    """The test below plants something in each of them; a new one has to be planted too."""
    sealed = {
        f"{table.name}.{column.name}"
        for table in tables.metadata.sorted_tables
        for column in table.columns
        if isinstance(column.type, Sealed)
    }
    assert sealed == {
        "alert.detail",
        "alert_event.note",
        "change_notice.why",
        "client_note.text",
        "chat.user_id",
        "client.initials",
        "client_choice.cues",
        "clinic.name",
        "clinic.out_of_hours_line",
        "clinic.phone",
        "draft.content",
        "ending.reason",
        "extra_report.exercise",
        "duty.detail",
        "erasure.record",
        "finding.detail",
        "hand_over.ended_by",
        "hand_over.made_by",
        "inbox.raw",
        "office_change.detail",
        "outbox.content",
        "outbox.picture",
        "prescription.document",
        "review.reason",
        "sent_file.detail",
        "sign_off.name",
        "sign_off.registration",
        "staff.name",
        "staff.registration",
        "talk.waiting",
        "unread_note.text",
    }


@pytest.mark.parametrize("checkpointed", [False, True], ids=["in the log", "in the file"])
def test_the_file_and_its_log_show_nothing_private(
    sqlite_store: Store, clock: MovableClock, checkpointed: bool
) -> None:
    fill(sqlite_store, clock.now())
    path = Path(str(sqlite_store.engine.url.database))
    if checkpointed:
        with sqlite_store.engine.connect() as connection:
            driver = connection.connection.driver_connection
            assert driver is not None
            driver.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        files = [path]
    else:
        files = [path, path.with_name(path.name + "-wal")]
    found = b"".join(file.read_bytes() for file in files)
    assert b"Europe/Lisbon" in found  # what is not private can be seen, so this looks in the right place
    assert [word for word in PRIVATE if word.encode() in found] == []


def test_no_row_of_postgresql_shows_anything_private(postgresql_store: Store, clock: MovableClock) -> None:
    fill(postgresql_store, clock.now())
    found = b""
    with postgresql_store.begin() as tx:
        for table in tables.metadata.sorted_tables:
            for row in tx.connection.execute(sa.select(table)):
                found += b"|".join(
                    value if isinstance(value, bytes) else str(value).encode() for value in row
                )
    assert b"Europe/Lisbon" in found
    assert [word for word in PRIVATE if word.encode() in found] == []


def test_a_destroyed_key_leaves_nothing_of_hers_to_read(store: Store, clock: MovableClock) -> None:
    """Erasing is destroying the key: what the clinic's and the installation's keys seal stays."""
    anna = fill(store, clock.now())
    with store.begin() as tx:
        tx.connection.execute(sa.delete(tables.data_key).where(tables.data_key.c.owner_id == anna.id))
    store.forget_keys()
    with store.begin() as tx:
        assert people.clinic_by_code(tx, "harbour") is not None
        for read in (
            lambda: people.client_by_id(tx, anna.id),
            lambda: people.prescription_documents(tx, [anna.id]),
            lambda: diary.unread_notes(tx, [anna.id]),
            lambda: alerts.open_of(tx, [anna.id]),
            lambda: chats.chat_of_owner(tx, anna.id),
            lambda: chats.waiting(tx, anna.id),
            lambda: diary.choices_of(tx, [anna.id]),
        ):
            with pytest.raises(SealError, match=f"the data key of {anna.id} is gone"):
                read()
