"""The tables of who answers for what: sign-offs of the rules, and the duties of a clinic's people."""

from sqlalchemy import JSON, Column, Date, ForeignKey, Index, String, Table, Uuid

from bot.store.metadata import metadata
from bot.store.types import Instant, Sealed

sign_off = Table(
    "sign_off",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("language", String(16), nullable=False),
    Column("digest", String(64), nullable=False),
    Column("parts", JSON, nullable=False),
    Column("name", Sealed, nullable=False),
    Column("registration", Sealed, nullable=False),
    Column("signed_on", Date, nullable=False),
    Column("recorded_at", Instant, nullable=False),
    Index(None, "language", "digest"),
)

duty = Table(
    "duty",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("clinic_id", Uuid, ForeignKey("clinic.id"), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("staff_id", Uuid, ForeignKey("staff.id")),
    Column("for_id", Uuid, ForeignKey("staff.id")),
    Column("from_on", Date),
    Column("until_on", Date),
    Column("detail", Sealed, nullable=False),
    Column("recorded_at", Instant, nullable=False),
    Column("ended_at", Instant),
    Index(None, "clinic_id", "ended_at"),
)
