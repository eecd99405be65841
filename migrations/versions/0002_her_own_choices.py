"""A client's own times and moments, requests to be rung up, and reports taken back."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "client_choice",
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("times", sa.JSON(), nullable=False),
        sa.Column("cues", sa.LargeBinary(), nullable=False),
        sa.Column("chosen_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_client_choice_client_id_client")),
        sa.PrimaryKeyConstraint("client_id", name=op.f("pk_client_choice")),
    )
    op.create_table(
        "call_request",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_call_request_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_call_request")),
    )
    op.create_index(
        op.f("ix_call_request_client_id_answered_at"),
        "call_request",
        ["client_id", "answered_at"],
    )
    op.add_column("set_report", sa.Column("undoes", sa.String(length=80), nullable=True))


def downgrade() -> None:
    # Without the column a report that was taken back would count again: both rows of such a pair go.
    op.execute(
        "DELETE FROM set_report WHERE undoes IS NOT NULL OR EXISTS ("
        "SELECT 1 FROM set_report AS back WHERE back.client_id = set_report.client_id "
        "AND back.undoes = set_report.key)",
    )
    with op.batch_alter_table("set_report") as table:
        table.drop_column("undoes")
    op.drop_index(op.f("ix_call_request_client_id_answered_at"), table_name="call_request")
    op.drop_table("call_request")
    op.drop_table("client_choice")
