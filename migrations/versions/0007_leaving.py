"""Who asked to be erased, what the clinic keeps locked of her, and for how long."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "erasure",
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("record", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_erasure_client_id_client")),
        sa.PrimaryKeyConstraint("client_id", name=op.f("pk_erasure")),
    )
    op.create_index(op.f("ix_erasure_done_at"), "erasure", ["done_at"])
    op.create_table(
        "retention",
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("record_years", sa.Integer(), nullable=False),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"], name=op.f("fk_retention_clinic_id_clinic")),
        sa.PrimaryKeyConstraint("clinic_id", name=op.f("pk_retention")),
    )


def downgrade() -> None:
    op.drop_table("retention")
    op.drop_index(op.f("ix_erasure_done_at"), table_name="erasure")
    op.drop_table("erasure")
