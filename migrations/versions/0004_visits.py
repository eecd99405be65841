"""Visits, what was found at them, and what a review ended in."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

TABLES = ("visit", "finding", "review")


def upgrade() -> None:
    _table("visit", sa.Column("attendance", sa.String(length=16), nullable=False))
    _table("finding", sa.Column("detail", sa.LargeBinary(), nullable=False))
    _table(
        "review",
        sa.Column("outcome", sa.String(length=16), nullable=False),
        sa.Column("reason", sa.LargeBinary(), nullable=False),
        sa.Column("next_on", sa.Date(), nullable=True),
    )


def _table(name: str, *columns: "sa.Column[object]") -> None:
    """A table of what somebody recorded about a client on a day."""
    op.create_table(
        name,
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("staff_id", sa.Uuid(), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        *columns,
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f(f"fk_{name}_client_id_client")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f(f"fk_{name}_staff_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
    )
    op.create_index(op.f(f"ix_{name}_client_id"), name, ["client_id"])


def downgrade() -> None:
    for name in reversed(TABLES):
        op.drop_index(op.f(f"ix_{name}_client_id"), table_name=name)
        op.drop_table(name)
