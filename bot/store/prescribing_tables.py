"""The tables of prescribing in chat: drafts, changes that clients are told of, files that were sent."""

from sqlalchemy import Column, ForeignKey, Index, Integer, String, Table, UniqueConstraint, Uuid

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

change_notice = Table(
    "change_notice",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("client_id", Uuid, ForeignKey("client.id"), nullable=False),
    Column("version", Integer, nullable=False),
    Column("why", Sealed, nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("told_at", Instant),
    Column("seen_at", Instant),
    UniqueConstraint("client_id", "version"),
)

sent_file = Table(
    "sent_file",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("staff_id", Uuid, ForeignKey("staff.id"), nullable=False),
    Column("detail", Sealed, nullable=False),
    Column("next_at", Instant, nullable=False),
    Column("tries", Integer, nullable=False),
    Index(None, "next_at"),
)
