"""Notes to clients, hand-overs, changes of facts and people, own hours, what was let go of, incidents."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("staff", sa.Column("hours", sa.JSON(), nullable=True))
    op.add_column("staff", sa.Column("leaves_on", sa.Date(), nullable=True))
    op.create_table(
        "client_note",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("staff_id", sa.Uuid(), nullable=False),
        sa.Column("text", sa.LargeBinary(), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("for_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("fate", sa.String(16), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_client_note_client_id_client")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_client_note_staff_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_client_note")),
    )
    op.create_index(op.f("ix_client_note_client_id"), "client_note", ["client_id"])
    op.create_index(op.f("ix_client_note_fate"), "client_note", ["fate"])
    op.create_table(
        "hand_over",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("from_id", sa.Uuid(), nullable=False),
        sa.Column("to_id", sa.Uuid(), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=True),
        sa.Column("made_by", sa.LargeBinary(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_by", sa.LargeBinary(), nullable=True),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_hand_over_client_id_client")),
        sa.ForeignKeyConstraint(["from_id"], ["staff.id"], name=op.f("fk_hand_over_from_id_staff")),
        sa.ForeignKeyConstraint(["to_id"], ["staff.id"], name=op.f("fk_hand_over_to_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hand_over")),
    )
    op.create_index(op.f("ix_hand_over_client_id"), "hand_over", ["client_id"])
    op.create_index(op.f("ix_hand_over_ended_at_until_on"), "hand_over", ["ended_at", "until_on"])
    op.create_table(
        "office_change",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("about_id", sa.Uuid(), nullable=True),
        sa.Column("what", sa.String(32), nullable=False),
        sa.Column("detail", sa.LargeBinary(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"], name=op.f("fk_office_change_clinic_id_clinic")),
        sa.ForeignKeyConstraint(["about_id"], ["staff.id"], name=op.f("fk_office_change_about_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_office_change")),
    )
    op.create_index(op.f("ix_office_change_clinic_id_at"), "office_change", ["clinic_id", "at"])
    op.create_table(
        "let_go",
        sa.Column("what", sa.String(16), nullable=False),
        sa.Column("up_to", sa.Uuid(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("what", name=op.f("pk_let_go")),
    )
    op.create_table(
        "incident",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(24), nullable=False),
        sa.Column("about", sa.String(40), nullable=False),
        sa.Column("began_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"], name=op.f("fk_incident_clinic_id_clinic")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_incident")),
        sa.UniqueConstraint("clinic_id", "kind", "about", name=op.f("uq_incident_clinic_id_kind_about")),
    )


def downgrade() -> None:
    op.drop_table("incident")
    op.drop_table("let_go")
    op.drop_index(op.f("ix_office_change_clinic_id_at"), table_name="office_change")
    op.drop_table("office_change")
    op.drop_index(op.f("ix_hand_over_ended_at_until_on"), table_name="hand_over")
    op.drop_index(op.f("ix_hand_over_client_id"), table_name="hand_over")
    op.drop_table("hand_over")
    op.drop_index(op.f("ix_client_note_fate"), table_name="client_note")
    op.drop_index(op.f("ix_client_note_client_id"), table_name="client_note")
    op.drop_table("client_note")
    with op.batch_alter_table("staff") as staff:
        staff.drop_column("leaves_on")
        staff.drop_column("hours")
