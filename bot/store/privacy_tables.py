"""The tables of leaving: who asked to be erased, what stays locked of her, and for how long."""

from sqlalchemy import Column, ForeignKey, Index, Integer, Table, Uuid

from bot.store.metadata import metadata
from bot.store.types import Instant, Sealed

erasure = Table(
    "erasure",
    metadata,
    Column("client_id", Uuid, ForeignKey("client.id"), primary_key=True),
    Column("asked_at", Instant, nullable=False),
    Column("done_at", Instant),
    Column("record", Sealed),
    Index(None, "done_at"),
)

retention = Table(
    "retention",
    metadata,
    Column("clinic_id", Uuid, ForeignKey("clinic.id"), primary_key=True),
    Column("record_years", Integer, nullable=False),
    Column("decided_at", Instant, nullable=False),
)
