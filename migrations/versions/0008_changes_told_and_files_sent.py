"""What a client was told of a new version and whether she has looked; files a therapist sent to be read."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "change_notice",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("why", sa.LargeBinary(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("told_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_change_notice_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change_notice")),
        sa.UniqueConstraint("client_id", "version", name=op.f("uq_change_notice_client_id_version")),
    )
    op.create_table(
        "sent_file",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("staff_id", sa.Uuid(), nullable=False),
        sa.Column("detail", sa.LargeBinary(), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_sent_file_staff_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sent_file")),
    )
    op.create_index(op.f("ix_sent_file_next_at"), "sent_file", ["next_at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_sent_file_next_at"), table_name="sent_file")
    op.drop_table("sent_file")
    op.drop_table("change_notice")
