"""The tables of visits: whether she came, what was found, what the review ended in."""

from sqlalchemy import Column, Date, ForeignKey, Index, String, Table, Uuid

from bot.store.metadata import metadata
from bot.store.types import Instant, Sealed

visit = Table(
    "visit",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("staff_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("on_date", Date, nullable=False),
    Column("attendance", String(16), nullable=False),
    Column("recorded_at", Instant, nullable=False),
    Index(None, "client_id"),
)

finding = Table(
    "finding",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("staff_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("on_date", Date, nullable=False),
    Column("detail", Sealed, nullable=False),
    Column("recorded_at", Instant, nullable=False),
    Index(None, "client_id"),
)

review = Table(
    "review",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("staff_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("on_date", Date, nullable=False),
    Column("outcome", String(16), nullable=False),
    Column("reason", Sealed, nullable=False),
    Column("next_on", Date),
    Column("recorded_at", Instant, nullable=False),
    Index(None, "client_id"),
)
