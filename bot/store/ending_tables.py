"""The tables of what is done beside the sets, and of how a programme ends."""

from sqlalchemy import Column, Date, ForeignKey, Index, String, Table, UniqueConstraint, Uuid

from bot.store.metadata import metadata
from bot.store.types import Instant, Sealed

extra_report = Table(
    "extra_report",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("key", String(80), nullable=False),
    Column("undoes", String(80)),
    Column("on_date", Date, nullable=False),
    Column("exercise", Sealed, nullable=False),
    Column("said_at", Instant, nullable=False),
    Column("entered_at", Instant, nullable=False),
    UniqueConstraint("client_id", "key"),
    Index(None, "client_id", "on_date"),
)

ending = Table(
    "ending",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("until_on", Date),
    Column("owner_id", Uuid, ForeignKey("staff.id")),
    Column("by_id", Uuid, ForeignKey("staff.id")),
    Column("reason", Sealed),
    Column("at", Instant, nullable=False),
    Index(None, "client_id", "at"),
)
