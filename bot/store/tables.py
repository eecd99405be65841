"""The tables. Ids are ours (UUID 7), instants aware UTC, days dates; what is private is sealed.

History is append-only except for erasure: a correction is a new row. The migrations in `migrations/` make
these tables; a test demands that both agree.
"""

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Date,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    String,
    Table,
    Time,
    UniqueConstraint,
    Uuid,
)

from bot.store.desk_tables import client_note, hand_over, incident, let_go, office_change
from bot.store.duty_tables import duty, sign_off
from bot.store.ending_tables import ending, extra_report
from bot.store.metadata import metadata
from bot.store.prescribing_tables import change_notice, draft, sent_file
from bot.store.privacy_tables import erasure, retention
from bot.store.types import Instant, Sealed
from bot.store.visit_tables import finding, review, visit

__all__ = [
    "change_notice",
    "client_note",
    "draft",
    "duty",
    "ending",
    "erasure",
    "extra_report",
    "finding",
    "hand_over",
    "incident",
    "let_go",
    "metadata",
    "office_change",
    "retention",
    "review",
    "sent_file",
    "sign_off",
    "visit",
]

data_key = Table(
    "data_key",
    metadata,
    Column("owner_id", Uuid, primary_key=True),
    Column("wrapped", LargeBinary, nullable=False),
    Column("made_at", Instant, nullable=False),
)

clinic = Table(
    "clinic",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("code", String(32), nullable=False, unique=True),
    Column("name", Sealed, nullable=False),
    Column("zone", String(64), nullable=False),
    Column("country", String(2), nullable=False),
    Column("hours", JSON, nullable=False),
    Column("closures", JSON, nullable=False),
    Column("phone", Sealed, nullable=False),
    Column("out_of_hours_line", Sealed, nullable=False),
    Column("emergency_number", String(16), nullable=False),
    Column("digest_day", Integer, nullable=False),
    Column("digest_at", Time, nullable=False),
    Column("labels", String(16), nullable=False),
    Column("made_at", Instant, nullable=False),
)

staff = Table(
    "staff",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("clinic_id", Uuid, ForeignKey("clinic.id"), nullable=False),
    Column("code", String(32), nullable=False),
    Column("role", String(16), nullable=False),
    Column("name", Sealed, nullable=False),
    Column("registration", Sealed),
    Column("next_digest_at", Instant),
    Column("made_at", Instant, nullable=False),
    Column("hours", JSON(none_as_null=True)),
    Column("leaves_on", Date),
    UniqueConstraint("clinic_id", "code"),
    Index(None, "next_digest_at"),
)

client = Table(
    "client",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("clinic_id", Uuid, ForeignKey("clinic.id"), nullable=False),
    Column("therapist_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("code", String(32), nullable=False),
    Column("initials", Sealed),
    Column("zone", String(64), nullable=False),
    Column("language", String(16), nullable=False),
    Column("stage", String(16), nullable=False),
    Column("baby_at_home", Boolean, nullable=False),
    Column("made_at", Instant, nullable=False),
    UniqueConstraint("clinic_id", "code"),
    Index(None, "therapist_id"),
)

consent = Table(
    "consent",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("text_version", String(32), nullable=False),
    Column("given", Boolean, nullable=False),
    Column("at", Instant, nullable=False),
    Index(None, "client_id"),
)

prescription = Table(
    "prescription",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("version", Integer, nullable=False),
    Column("starts_on", Date, nullable=False),
    Column("document", Sealed, nullable=False),
    Column("put_in_force_at", Instant, nullable=False),
    Column("put_in_force_by", Uuid, ForeignKey("staff.id"), nullable=False),
    UniqueConstraint("client_id", "version"),
)

track = Table(
    "track",
    metadata,
    Column("client_id", Uuid, ForeignKey("client.id"), primary_key=True),
    Column("next_at", Instant),
    Column("cap", Integer, nullable=False),
    Column("mode", String(16), nullable=False),
    Column("later_at", Instant),
    Column("laters_on", Date),
    Column("laters", Integer, nullable=False),
    Column("paused_until", Date),
    Column("pause_reason", String(32)),
    Column("last_heard_at", Instant, nullable=False),
    Column("last_check_in_on", Date),
    Column("restarted_at", Instant, nullable=False),
    Index(None, "next_at"),
)

pause_event = Table(
    "pause_event",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("reason", String(32), nullable=False),
    Column("on_date", Date, nullable=False),
    Column("until_on", Date),
    Column("at", Instant, nullable=False),
    Index(None, "client_id"),
)

invite = Table(
    "invite",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("code_hash", LargeBinary, nullable=False, unique=True),
    Column("role", String(16), nullable=False),
    Column("subject_id", Uuid, nullable=False),
    Column("fact_hash", LargeBinary),
    Column("made_at", Instant, nullable=False),
    Column("expires_at", Instant, nullable=False),
    Column("opened_by", LargeBinary),
    Column("tries", Integer, nullable=False),
    Column("closed_at", Instant),
    Column("closed_as", String(16)),
    Index(None, "opened_by"),
    Index(None, "subject_id"),
)

chat = Table(
    "chat",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("bot", String(64), nullable=False),
    Column("user_hash", LargeBinary, nullable=False),
    Column("user_id", Sealed, nullable=False),
    Column("role", String(16), nullable=False),
    Column("owner_id", Uuid),
    Column("linked_at", Instant),
    Column("free_at", Instant),
    Column("gone_at", Instant),
    UniqueConstraint("bot", "user_hash"),
    UniqueConstraint("owner_id"),
)

wrong_code = Table(
    "wrong_code",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("chat_id", Uuid, ForeignKey("chat.id"), nullable=False),
    Column("at", Instant, nullable=False),
    Index(None, "chat_id", "at"),
)

talk = Table(
    "talk",
    metadata,
    Column("owner_id", Uuid, primary_key=True),
    Column("waiting", Sealed, nullable=False),
    Column("since", Instant, nullable=False),
)

inbox = Table(
    "inbox",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("bot", String(64), nullable=False),
    Column("update_id", BigInteger),
    Column("received_at", Instant, nullable=False),
    Column("sender_hash", LargeBinary),
    Column("raw", Sealed, nullable=False),
    Column("state", String(16), nullable=False),
    Column("tries", Integer, nullable=False),
    Column("worker", Uuid),
    Column("lease_until", Instant),
    Column("settled_at", Instant),
    UniqueConstraint("bot", "update_id"),
    Index(None, "state", "update_id"),
    Index(None, "sender_hash", "state"),
)

set_report = Table(
    "set_report",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("key", String(80), nullable=False),
    Column("on_date", Date, nullable=False),
    Column("meaning", String(16), nullable=False),
    Column("value", Integer),
    Column("undoes", String(80)),
    Column("said_at", Instant, nullable=False),
    Column("entered_at", Instant, nullable=False),
    UniqueConstraint("client_id", "key"),
    Index(None, "client_id", "on_date"),
)

client_choice = Table(
    "client_choice",
    metadata,
    Column("client_id", Uuid, ForeignKey("client.id"), primary_key=True),
    Column("times", JSON, nullable=False),
    Column("cues", Sealed, nullable=False),
    Column("chosen_at", Instant, nullable=False),
)

call_request = Table(
    "call_request",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("asked_at", Instant, nullable=False),
    Column("answered_at", Instant),
    Index(None, "client_id", "answered_at"),
)

symptom_report = Table(
    "symptom_report",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("key", String(80), nullable=False),
    Column("on_date", Date, nullable=False),
    Column("question", String(32), nullable=False),
    Column("value", Integer),
    Column("said_at", Instant, nullable=False),
    Column("entered_at", Instant, nullable=False),
    UniqueConstraint("client_id", "key"),
    Index(None, "client_id", "on_date"),
)

unasked = Table(
    "unasked",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("what", String(16), nullable=False),
    Column("on_date", Date, nullable=False),
    Column("ordinal", Integer, nullable=False),
    Column("put_at", Instant, nullable=False),
    UniqueConstraint("client_id", "what", "on_date", "ordinal"),
)

alert = Table(
    "alert",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("level", String(16), nullable=False),
    Column("handling", String(16), nullable=False),
    Column("detail", Sealed, nullable=False),
    Column("raised_at", Instant, nullable=False),
    Column("step", Integer, nullable=False),
    Column("told_at", Instant),
    Column("next_step_at", Instant),
    Column("seen_at", Instant),
    Column("closed_at", Instant),
    Column("outcome", String(24)),
    Column("client_at", Instant),
    Column("undelivered_at", Instant),
    Index(None, "client_id", "closed_at"),
    Index(None, "next_step_at"),
    Index(None, "client_at"),
)

alert_event = Table(
    "alert_event",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("alert_id", Uuid, ForeignKey("alert.id"), nullable=False),
    Column("kind", String(24), nullable=False),
    Column("at", Instant, nullable=False),
    Column("staff_id", Uuid, ForeignKey("staff.id")),
    Column("note", Sealed),
    Index(None, "alert_id"),
)

unread_note = Table(
    "unread_note",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("inbox_id", Uuid, ForeignKey("inbox.id"), nullable=False),
    Column("text", Sealed, nullable=False),
    Column("said_at", Instant, nullable=False),
    Column("read_at", Instant),
    UniqueConstraint("inbox_id"),
    Index(None, "client_id", "read_at"),
)

outbox = Table(
    "outbox",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("key", String(120), nullable=False, unique=True),
    Column("chat_id", Uuid, ForeignKey("chat.id"), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("priority", Integer, nullable=False),
    Column("content", Sealed, nullable=False),
    Column("picture", Sealed),
    Column("put_at", Instant, nullable=False),
    Column("not_before", Instant, nullable=False),
    Column("expires_at", Instant),
    Column("state", String(16), nullable=False),
    Column("attempt", Integer, nullable=False),
    Column("worker", Uuid),
    Column("lease_until", Instant),
    Column("taken_at", Instant),
    Column("settled_at", Instant),
    Column("message_id", BigInteger),
    Column("reason", String(80)),
    Index(None, "state", "priority", "id"),
    Index(None, "taken_at"),
    Index(None, "chat_id", "state"),
)

send_budget = Table(
    "send_budget",
    metadata,
    Column("bot", String(64), primary_key=True),
    Column("hold_until", Instant),
)
