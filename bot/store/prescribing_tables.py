"""The tables of prescribing in chat: prescriptions in the making."""

from sqlalchemy import Column, ForeignKey, String, Table, UniqueConstraint, Uuid

from bot.store.metadata import metadata
from bot.store.types import Instant, Sealed

draft = Table(
    "draft",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("staff_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("code", String(32), nullable=False),
    Column("content", Sealed, nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("changed_at", Instant, nullable=False),
    UniqueConstraint("staff_id", "code"),
)
