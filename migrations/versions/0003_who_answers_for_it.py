"""Sign-offs of the rules, who has which duty in a clinic, and when a client is written to about an alert."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "sign_off",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.Column("name", sa.LargeBinary(), nullable=False),
        sa.Column("registration", sa.LargeBinary(), nullable=False),
        sa.Column("signed_on", sa.Date(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_off")),
    )
    op.create_index(op.f("ix_sign_off_language_digest"), "sign_off", ["language", "digest"])
    op.create_table(
        "duty",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("staff_id", sa.Uuid(), nullable=True),
        sa.Column("for_id", sa.Uuid(), nullable=True),
        sa.Column("from_on", sa.Date(), nullable=True),
        sa.Column("until_on", sa.Date(), nullable=True),
        sa.Column("detail", sa.LargeBinary(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"], name=op.f("fk_duty_clinic_id_clinic")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_duty_staff_id_staff")),
        sa.ForeignKeyConstraint(["for_id"], ["staff.id"], name=op.f("fk_duty_for_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_duty")),
    )
    op.create_index(op.f("ix_duty_clinic_id_ended_at"), "duty", ["clinic_id", "ended_at"])
    op.add_column("alert", sa.Column("client_at", sa.DateTime(timezone=True), nullable=True))
    op.add_column("alert", sa.Column("undelivered_at", sa.DateTime(timezone=True), nullable=True))
    op.create_index(op.f("ix_alert_client_at"), "alert", ["client_at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_alert_client_at"), table_name="alert")
    with op.batch_alter_table("alert") as table:
        table.drop_column("undelivered_at")
        table.drop_column("client_at")
    op.drop_index(op.f("ix_duty_clinic_id_ended_at"), table_name="duty")
    op.drop_table("duty")
    op.drop_index(op.f("ix_sign_off_language_digest"), table_name="sign_off")
    op.drop_table("sign_off")
