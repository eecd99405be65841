"""Taps for the exercises beside the sets, and how a programme ends."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "extra_report",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("undoes", sa.String(length=80), nullable=True),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("exercise", sa.LargeBinary(), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_extra_report_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_extra_report")),
        sa.UniqueConstraint("client_id", "key", name=op.f("uq_extra_report_client_id_key")),
    )
    op.create_index(op.f("ix_extra_report_client_id_on_date"), "extra_report", ["client_id", "on_date"])
    op.create_table(
        "ending",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=True),
        sa.Column("owner_id", sa.Uuid(), nullable=True),
        sa.Column("by_id", sa.Uuid(), nullable=True),
        sa.Column("reason", sa.LargeBinary(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_ending_client_id_client")),
        sa.ForeignKeyConstraint(["owner_id"], ["staff.id"], name=op.f("fk_ending_owner_id_staff")),
        sa.ForeignKeyConstraint(["by_id"], ["staff.id"], name=op.f("fk_ending_by_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ending")),
    )
    op.create_index(op.f("ix_ending_client_id_at"), "ending", ["client_id", "at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_ending_client_id_at"), table_name="ending")
    op.drop_table("ending")
    op.drop_index(op.f("ix_extra_report_client_id_on_date"), table_name="extra_report")
    op.drop_table("extra_report")
