"""The tables of the thread: clinic, people, prescription, diary, alerts, inbox and outbox."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "chat",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("bot", sa.String(length=64), nullable=False),
        sa.Column("user_hash", sa.LargeBinary(), nullable=False),
        sa.Column("user_id", sa.LargeBinary(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("owner_id", sa.Uuid(), nullable=True),
        sa.Column("linked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("free_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("gone_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chat")),
        sa.UniqueConstraint("bot", "user_hash", name=op.f("uq_chat_bot_user_hash")),
        sa.UniqueConstraint("owner_id", name=op.f("uq_chat_owner_id")),
    )
    op.create_table(
        "clinic",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("code", sa.String(length=32), nullable=False),
        sa.Column("name", sa.LargeBinary(), nullable=False),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("country", sa.String(length=2), nullable=False),
        sa.Column("hours", sa.JSON(), nullable=False),
        sa.Column("closures", sa.JSON(), nullable=False),
        sa.Column("phone", sa.LargeBinary(), nullable=False),
        sa.Column("out_of_hours_line", sa.LargeBinary(), nullable=False),
        sa.Column("emergency_number", sa.String(length=16), nullable=False),
        sa.Column("digest_day", sa.Integer(), nullable=False),
        sa.Column("digest_at", sa.Time(), nullable=False),
        sa.Column("labels", sa.String(length=16), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clinic")),
        sa.UniqueConstraint("code", name=op.f("uq_clinic_code")),
    )
    op.create_table(
        "data_key",
        sa.Column("owner_id", sa.Uuid(), nullable=False),
        sa.Column("wrapped", sa.LargeBinary(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("owner_id", name=op.f("pk_data_key")),
    )
    op.create_table(
        "inbox",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("bot", sa.String(length=64), nullable=False),
        sa.Column("update_id", sa.BigInteger(), nullable=True),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sender_hash", sa.LargeBinary(), nullable=True),
        sa.Column("raw", sa.LargeBinary(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("worker", sa.Uuid(), nullable=True),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_inbox")),
        sa.UniqueConstraint("bot", "update_id", name=op.f("uq_inbox_bot_update_id")),
    )
    op.create_index(op.f("ix_inbox_sender_hash_state"), "inbox", ["sender_hash", "state"], unique=False)
    op.create_index(op.f("ix_inbox_state_update_id"), "inbox", ["state", "update_id"], unique=False)
    op.create_table(
        "invite",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("code_hash", sa.LargeBinary(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("subject_id", sa.Uuid(), nullable=False),
        sa.Column("fact_hash", sa.LargeBinary(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("opened_by", sa.LargeBinary(), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_as", sa.String(length=16), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_invite")),
        sa.UniqueConstraint("code_hash", name=op.f("uq_invite_code_hash")),
    )
    op.create_index(op.f("ix_invite_opened_by"), "invite", ["opened_by"], unique=False)
    op.create_index(op.f("ix_invite_subject_id"), "invite", ["subject_id"], unique=False)
    op.create_table(
        "send_budget",
        sa.Column("bot", sa.String(length=64), nullable=False),
        sa.Column("hold_until", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("bot", name=op.f("pk_send_budget")),
    )
    op.create_table(
        "talk",
        sa.Column("owner_id", sa.Uuid(), nullable=False),
        sa.Column("waiting", sa.LargeBinary(), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("owner_id", name=op.f("pk_talk")),
    )
    op.create_table(
        "outbox",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("key", sa.String(length=120), nullable=False),
        sa.Column("chat_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("priority", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("picture", sa.LargeBinary(), nullable=True),
        sa.Column("put_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("not_before", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("worker", sa.Uuid(), nullable=True),
        sa.Column("lease_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("message_id", sa.BigInteger(), nullable=True),
        sa.Column("reason", sa.String(length=80), nullable=True),
        sa.ForeignKeyConstraint(["chat_id"], ["chat.id"], name=op.f("fk_outbox_chat_id_chat")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox")),
        sa.UniqueConstraint("key", name=op.f("uq_outbox_key")),
    )
    op.create_index(op.f("ix_outbox_chat_id_state"), "outbox", ["chat_id", "state"], unique=False)
    op.create_index(op.f("ix_outbox_state_priority_id"), "outbox", ["state", "priority", "id"], unique=False)
    op.create_index(op.f("ix_outbox_taken_at"), "outbox", ["taken_at"], unique=False)
    op.create_table(
        "staff",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("code", sa.String(length=32), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("name", sa.LargeBinary(), nullable=False),
        sa.Column("registration", sa.LargeBinary(), nullable=True),
        sa.Column("next_digest_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"], name=op.f("fk_staff_clinic_id_clinic")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_staff")),
        sa.UniqueConstraint("clinic_id", "code", name=op.f("uq_staff_clinic_id_code")),
    )
    op.create_index(op.f("ix_staff_next_digest_at"), "staff", ["next_digest_at"], unique=False)
    op.create_table(
        "wrong_code",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("chat_id", sa.Uuid(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["chat_id"], ["chat.id"], name=op.f("fk_wrong_code_chat_id_chat")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_wrong_code")),
    )
    op.create_index(op.f("ix_wrong_code_chat_id_at"), "wrong_code", ["chat_id", "at"], unique=False)
    op.create_table(
        "client",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("clinic_id", sa.Uuid(), nullable=False),
        sa.Column("therapist_id", sa.Uuid(), nullable=False),
        sa.Column("code", sa.String(length=32), nullable=False),
        sa.Column("initials", sa.LargeBinary(), nullable=True),
        sa.Column("zone", sa.String(length=64), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("stage", sa.String(length=16), nullable=False),
        sa.Column("baby_at_home", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"], name=op.f("fk_client_clinic_id_clinic")),
        sa.ForeignKeyConstraint(["therapist_id"], ["staff.id"], name=op.f("fk_client_therapist_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_client")),
        sa.UniqueConstraint("clinic_id", "code", name=op.f("uq_client_clinic_id_code")),
    )
    op.create_index(op.f("ix_client_therapist_id"), "client", ["therapist_id"], unique=False)
    op.create_table(
        "alert",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("level", sa.String(length=16), nullable=False),
        sa.Column("handling", sa.String(length=16), nullable=False),
        sa.Column("detail", sa.LargeBinary(), nullable=False),
        sa.Column("raised_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("told_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("next_step_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("outcome", sa.String(length=24), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_alert_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alert")),
    )
    op.create_index(op.f("ix_alert_client_id_closed_at"), "alert", ["client_id", "closed_at"], unique=False)
    op.create_index(op.f("ix_alert_next_step_at"), "alert", ["next_step_at"], unique=False)
    op.create_table(
        "consent",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("text_version", sa.String(length=32), nullable=False),
        sa.Column("given", sa.Boolean(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_consent_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consent")),
    )
    op.create_index(op.f("ix_consent_client_id"), "consent", ["client_id"], unique=False)
    op.create_table(
        "pause_event",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("reason", sa.String(length=32), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_pause_event_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pause_event")),
    )
    op.create_index(op.f("ix_pause_event_client_id"), "pause_event", ["client_id"], unique=False)
    op.create_table(
        "prescription",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("put_in_force_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("put_in_force_by", sa.Uuid(), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_prescription_client_id_client")),
        sa.ForeignKeyConstraint(
            ["put_in_force_by"], ["staff.id"], name=op.f("fk_prescription_put_in_force_by_staff")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_prescription")),
        sa.UniqueConstraint("client_id", "version", name=op.f("uq_prescription_client_id_version")),
    )
    op.create_table(
        "set_report",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("meaning", sa.String(length=16), nullable=False),
        sa.Column("value", sa.Integer(), nullable=True),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_set_report_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_set_report")),
        sa.UniqueConstraint("client_id", "key", name=op.f("uq_set_report_client_id_key")),
    )
    op.create_index(
        op.f("ix_set_report_client_id_on_date"), "set_report", ["client_id", "on_date"], unique=False
    )
    op.create_table(
        "symptom_report",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("question", sa.String(length=32), nullable=False),
        sa.Column("value", sa.Integer(), nullable=True),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["client_id"], ["client.id"], name=op.f("fk_symptom_report_client_id_client")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_symptom_report")),
        sa.UniqueConstraint("client_id", "key", name=op.f("uq_symptom_report_client_id_key")),
    )
    op.create_index(
        op.f("ix_symptom_report_client_id_on_date"), "symptom_report", ["client_id", "on_date"], unique=False
    )
    op.create_table(
        "track",
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("cap", sa.Integer(), nullable=False),
        sa.Column("mode", sa.String(length=16), nullable=False),
        sa.Column("later_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("laters_on", sa.Date(), nullable=True),
        sa.Column("laters", sa.Integer(), nullable=False),
        sa.Column("paused_until", sa.Date(), nullable=True),
        sa.Column("pause_reason", sa.String(length=32), nullable=True),
        sa.Column("last_heard_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_check_in_on", sa.Date(), nullable=True),
        sa.Column("restarted_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_track_client_id_client")),
        sa.PrimaryKeyConstraint("client_id", name=op.f("pk_track")),
    )
    op.create_index(op.f("ix_track_next_at"), "track", ["next_at"], unique=False)
    op.create_table(
        "unasked",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("what", sa.String(length=16), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("ordinal", sa.Integer(), nullable=False),
        sa.Column("put_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_unasked_client_id_client")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unasked")),
        sa.UniqueConstraint(
            "client_id", "what", "on_date", "ordinal", name=op.f("uq_unasked_client_id_what_on_date_ordinal")
        ),
    )
    op.create_table(
        "unread_note",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.Column("inbox_id", sa.Uuid(), nullable=False),
        sa.Column("text", sa.LargeBinary(), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_unread_note_client_id_client")),
        sa.ForeignKeyConstraint(["inbox_id"], ["inbox.id"], name=op.f("fk_unread_note_inbox_id_inbox")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unread_note")),
        sa.UniqueConstraint("inbox_id", name=op.f("uq_unread_note_inbox_id")),
    )
    op.create_index(
        op.f("ix_unread_note_client_id_read_at"), "unread_note", ["client_id", "read_at"], unique=False
    )
    op.create_table(
        "alert_event",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("alert_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(length=24), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("staff_id", sa.Uuid(), nullable=True),
        sa.Column("note", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(["alert_id"], ["alert.id"], name=op.f("fk_alert_event_alert_id_alert")),
        sa.ForeignKeyConstraint(["staff_id"], ["staff.id"], name=op.f("fk_alert_event_staff_id_staff")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alert_event")),
    )
    op.create_index(op.f("ix_alert_event_alert_id"), "alert_event", ["alert_id"], unique=False)


def downgrade() -> None:
    op.drop_index(op.f("ix_alert_event_alert_id"), table_name="alert_event")
    op.drop_table("alert_event")
    op.drop_index(op.f("ix_unread_note_client_id_read_at"), table_name="unread_note")
    op.drop_table("unread_note")
    op.drop_table("unasked")
    op.drop_index(op.f("ix_track_next_at"), table_name="track")
    op.drop_table("track")
    op.drop_index(op.f("ix_symptom_report_client_id_on_date"), table_name="symptom_report")
    op.drop_table("symptom_report")
    op.drop_index(op.f("ix_set_report_client_id_on_date"), table_name="set_report")
    op.drop_table("set_report")
    op.drop_table("prescription")
    op.drop_index(op.f("ix_pause_event_client_id"), table_name="pause_event")
    op.drop_table("pause_event")
    op.drop_index(op.f("ix_consent_client_id"), table_name="consent")
    op.drop_table("consent")
    op.drop_index(op.f("ix_alert_next_step_at"), table_name="alert")
    op.drop_index(op.f("ix_alert_client_id_closed_at"), table_name="alert")
    op.drop_table("alert")
    op.drop_index(op.f("ix_client_therapist_id"), table_name="client")
    op.drop_table("client")
    op.drop_index(op.f("ix_wrong_code_chat_id_at"), table_name="wrong_code")
    op.drop_table("wrong_code")
    op.drop_index(op.f("ix_staff_next_digest_at"), table_name="staff")
    op.drop_table("staff")
    op.drop_index(op.f("ix_outbox_taken_at"), table_name="outbox")
    op.drop_index(op.f("ix_outbox_state_priority_id"), table_name="outbox")
    op.drop_index(op.f("ix_outbox_chat_id_state"), table_name="outbox")
    op.drop_table("outbox")
    op.drop_table("talk")
    op.drop_table("send_budget")
    op.drop_index(op.f("ix_invite_subject_id"), table_name="invite")
    op.drop_index(op.f("ix_invite_opened_by"), table_name="invite")
    op.drop_table("invite")
    op.drop_index(op.f("ix_inbox_state_update_id"), table_name="inbox")
    op.drop_index(op.f("ix_inbox_sender_hash_state"), table_name="inbox")
    op.drop_table("inbox")
    op.drop_table("data_key")
    op.drop_table("clinic")
    op.drop_table("chat")
