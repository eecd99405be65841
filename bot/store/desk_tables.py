"""The tables of the clinic at work: notes to clients, hand-overs, changes of facts and people, incidents."""

from sqlalchemy import Column, Date, ForeignKey, Index, String, Table, UniqueConstraint, Uuid

from bot.store.metadata import metadata
from bot.store.types import Instant, Sealed

client_note = Table(
    "client_note",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("staff_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("text", Sealed, nullable=False),
    Column("written_at", Instant, nullable=False),
    Column("for_at", Instant, nullable=False),
    Column("fate", String(16)),
    Index(None, "client_id"),
    Index(None, "fate"),
)

hand_over = Table(
    "hand_over",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("from_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("to_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("until_on", Date),
    Column("made_by", Sealed, nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("ended_by", Sealed),
    Column("ended_at", Instant),
    Index(None, "client_id"),
    Index(None, "ended_at", "until_on"),
)

office_change = Table(
    "office_change",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("clinic_id", Uuid, ForeignKey("clinic.id"), nullable=False),
    Column("about_id", Uuid, ForeignKey("staff.id")),
    Column("what", String(32), nullable=False),
    Column("detail", Sealed, nullable=False),
    Column("at", Instant, nullable=False),
    Index(None, "clinic_id", "at"),
)

let_go = Table(
    "let_go",
    metadata,
    Column("what", String(16), primary_key=True),
    Column("up_to", Uuid, nullable=False),
    Column("at", Instant, nullable=False),
)

incident = Table(
    "incident",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("clinic_id", Uuid, ForeignKey("clinic.id"), nullable=False),
    Column("kind", String(24), nullable=False),
    Column("about", String(40), nullable=False),
    Column("began_at", Instant, nullable=False),
    Column("ended_at", Instant),
    UniqueConstraint("clinic_id", "kind", "about"),
)
