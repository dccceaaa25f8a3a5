"""A school: accounts, roles, classes, teaching sets, work given to a class, reviews, the audit log.

Columns are added one by one: copying a table, as SQLite needs for more, would delete what hangs on its rows.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    _people()
    _classes_and_sets()
    _more_columns()
    _roles_of_who_is_there()


def _people() -> None:
    op.create_table(
        "audit_entry",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("actor_id", sa.String(length=32), nullable=True),
        sa.Column("action", sa.String(length=40), nullable=False),
        sa.Column("outcome", sa.String(length=24), nullable=False),
        sa.Column("object_id", sa.String(length=32), nullable=True),
        sa.Column("previous_sha256", sa.String(length=64), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.CheckConstraint("outcome IN ('done', 'refused')", name=op.f("ck_audit_entry_outcome")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_audit_entry")),
        sa.UniqueConstraint("sha256", name=op.f("uq_audit_entry_sha256")),
    )
    op.create_table(
        "setting",
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("value", sa.JSON(none_as_null=True), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_setting")),
    )
    op.create_table(
        "tries",
        sa.Column("what_sha256", sa.String(length=64), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("first_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_until", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("what_sha256", name=op.f("pk_tries")),
    )
    op.create_table(
        "account",
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("password_hash", sa.String(length=200), nullable=False),
        sa.Column("must_change", sa.Boolean(), nullable=False),
        sa.Column("set_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_account_person_id")),
        sa.PrimaryKeyConstraint("person_id", name=op.f("pk_account")),
    )
    op.create_table(
        "class_group",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("title", sa.String(length=80), nullable=False),
        sa.Column("made_by", sa.String(length=32), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("keep_until", sa.Date(), nullable=False),
        sa.Column("erased_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["made_by"], ["person.id"], name=op.f("fk_class_group_made_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_class_group")),
    )
    op.create_table(
        "identity",
        sa.Column("issuer", sa.String(length=300), nullable=False),
        sa.Column("subject", sa.String(length=300), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("linked_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_identity_person_id")),
        sa.PrimaryKeyConstraint("issuer", "subject", name=op.f("pk_identity")),
    )
    op.create_index("ix_identity_person_id", "identity", ["person_id"])

    op.create_table(
        "person_role",
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("role", sa.String(length=24), nullable=False),
        sa.Column("given_by", sa.String(length=32), nullable=True),
        sa.Column("given_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("role IN ('educator', 'instructor', 'student')", name=op.f("ck_person_role_role")),
        sa.ForeignKeyConstraint(["given_by"], ["person.id"], name=op.f("fk_person_role_given_by")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_person_role_person_id")),
        sa.PrimaryKeyConstraint("person_id", "role", name=op.f("pk_person_role")),
    )
    op.create_table(
        "session",
        sa.Column("token_sha256", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_session_person_id")),
        sa.PrimaryKeyConstraint("token_sha256", name=op.f("pk_session")),
    )
    op.create_index("ix_session_person_id", "session", ["person_id"])


def _classes_and_sets() -> None:
    op.create_table(
        "teaching_set",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("owner_id", sa.String(length=32), nullable=False),
        sa.Column("title", sa.String(length=80), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["owner_id"], ["person.id"], name=op.f("fk_teaching_set_owner_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_teaching_set")),
    )
    op.create_index("ix_teaching_set_owner_id", "teaching_set", ["owner_id"])

    op.create_table(
        "class_member",
        sa.Column("class_id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("part", sa.String(length=24), nullable=False),
        sa.Column("joined_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("left_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("part IN ('instructor', 'student')", name=op.f("ck_class_member_part")),
        sa.ForeignKeyConstraint(["class_id"], ["class_group.id"], name=op.f("fk_class_member_class_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_class_member_person_id")),
        sa.PrimaryKeyConstraint("class_id", "person_id", name=op.f("pk_class_member")),
    )
    op.create_index("ix_class_member_person_id", "class_member", ["person_id"])

    op.create_table(
        "join_code",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("class_id", sa.String(length=32), nullable=False),
        sa.Column("code_sha256", sa.String(length=64), nullable=False),
        sa.Column("made_by", sa.String(length=32), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["class_id"], ["class_group.id"], name=op.f("fk_join_code_class_id")),
        sa.ForeignKeyConstraint(["made_by"], ["person.id"], name=op.f("fk_join_code_made_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_join_code")),
        sa.UniqueConstraint("code_sha256", name=op.f("uq_join_code_code_sha256")),
    )
    op.create_index("ix_join_code_class_id", "join_code", ["class_id"])

    op.create_table(
        "set_version",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("set_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=24), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("published_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("published_by", sa.String(length=32), nullable=True),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("checklist_version", sa.String(length=80), nullable=True),
        sa.Column("seal", sa.String(length=64), nullable=True),
        sa.CheckConstraint("state = 'draft' OR published_at IS NOT NULL", name=op.f("ck_set_version_published")),
        sa.CheckConstraint("state IN ('draft', 'published', 'retired')", name=op.f("ck_set_version_state")),
        sa.ForeignKeyConstraint(["published_by"], ["person.id"], name=op.f("fk_set_version_published_by")),
        sa.ForeignKeyConstraint(["set_id"], ["teaching_set.id"], name=op.f("fk_set_version_set_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_set_version")),
        sa.UniqueConstraint("set_id", "number", name=op.f("uq_set_version_set_id")),
    )
    op.create_index("ix_set_version_set_id", "set_version", ["set_id"])

    op.create_table(
        "assignment",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("class_id", sa.String(length=32), nullable=False),
        sa.Column("version_id", sa.String(length=32), nullable=False),
        sa.Column("title", sa.String(length=80), nullable=False),
        sa.Column("given_by", sa.String(length=32), nullable=False),
        sa.Column("given_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("order_of_work", sa.String(length=24), nullable=False),
        sa.Column("places_twice", sa.Boolean(), nullable=False),
        sa.Column("hidden_repeat", sa.Boolean(), nullable=False),
        sa.Column("key_rule", sa.String(length=24), nullable=False),
        sa.Column("key_opened_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint(
            "key_rule IN ('after_each', 'after_due', 'when_opened')", name=op.f("ck_assignment_key_rule")
        ),
        sa.CheckConstraint(
            "order_of_work IN ('score_first', 'measure_first')", name=op.f("ck_assignment_order_of_work")
        ),
        sa.ForeignKeyConstraint(["class_id"], ["class_group.id"], name=op.f("fk_assignment_class_id")),
        sa.ForeignKeyConstraint(["given_by"], ["person.id"], name=op.f("fk_assignment_given_by")),
        sa.ForeignKeyConstraint(["version_id"], ["set_version.id"], name=op.f("fk_assignment_version_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assignment")),
    )
    op.create_index("ix_assignment_class_id", "assignment", ["class_id"])
    op.create_index("ix_assignment_version_id", "assignment", ["version_id"])

    op.create_table(
        "bundle",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("version_id", sa.String(length=32), nullable=False),
        sa.Column("made_by", sa.String(length=32), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("to_whom", sa.String(length=80), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=True),
        sa.Column("file_name", sa.String(length=40), nullable=True),
        sa.Column("photo_ids", sa.JSON(none_as_null=True), nullable=False),
        sa.ForeignKeyConstraint(["made_by"], ["person.id"], name=op.f("fk_bundle_made_by")),
        sa.ForeignKeyConstraint(["version_id"], ["set_version.id"], name=op.f("fk_bundle_version_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bundle")),
        sa.UniqueConstraint("file_name", name=op.f("uq_bundle_file_name")),
    )
    op.create_index("ix_bundle_version_id", "bundle", ["version_id"])

    op.create_table(
        "consent_scan",
        sa.Column("consent_id", sa.String(length=32), nullable=False),
        sa.Column("file_name", sa.String(length=40), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["consent_id"], ["consent.id"], name=op.f("fk_consent_scan_consent_id")),
        sa.PrimaryKeyConstraint("consent_id", name=op.f("pk_consent_scan")),
        sa.UniqueConstraint("file_name", name=op.f("uq_consent_scan_file_name")),
    )
    op.create_table(
        "expert_key",
        sa.Column("photo_id", sa.String(length=32), nullable=False),
        sa.Column("expert_id", sa.String(length=32), nullable=False),
        sa.Column("answers", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("landmarks", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("set_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["expert_id"], ["person.id"], name=op.f("fk_expert_key_expert_id")),
        sa.ForeignKeyConstraint(["photo_id"], ["photo.id"], name=op.f("fk_expert_key_photo_id")),
        sa.PrimaryKeyConstraint("photo_id", "expert_id", name=op.f("pk_expert_key")),
    )
    op.create_table(
        "opt_out",
        sa.Column("assignment_id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("slot", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["assignment_id"], ["assignment.id"], name=op.f("fk_opt_out_assignment_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_opt_out_person_id")),
        sa.PrimaryKeyConstraint("assignment_id", "person_id", "slot", name=op.f("pk_opt_out")),
    )
    op.create_table(
        "set_photo",
        sa.Column("version_id", sa.String(length=32), nullable=False),
        sa.Column("photo_id", sa.String(length=32), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("difficulty", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("answers", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("landmarks", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("difficulty IN (1, 2, 3)", name=op.f("ck_set_photo_difficulty")),
        sa.ForeignKeyConstraint(["photo_id"], ["photo.id"], name=op.f("fk_set_photo_photo_id")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["set_version.id"], name=op.f("fk_set_photo_version_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("version_id", "photo_id", name=op.f("pk_set_photo")),
    )
    op.create_table(
        "comment",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("attempt_id", sa.String(length=32), nullable=False),
        sa.Column("written_by", sa.String(length=32), nullable=False),
        sa.Column("item_id", sa.String(length=40), nullable=True),
        sa.Column("landmark_id", sa.String(length=40), nullable=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("item_id IS NULL OR landmark_id IS NULL", name=op.f("ck_comment_one_place")),
        sa.ForeignKeyConstraint(["attempt_id"], ["attempt.id"], name=op.f("fk_comment_attempt_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["written_by"], ["person.id"], name=op.f("fk_comment_written_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_comment")),
    )
    op.create_index("ix_comment_attempt_id", "comment", ["attempt_id"])

    op.create_table(
        "review",
        sa.Column("attempt_id", sa.String(length=32), nullable=False),
        sa.Column("state", sa.String(length=24), nullable=False),
        sa.Column("reviewed_by", sa.String(length=32), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("state IN ('looked_at', 'handed_back', 'done')", name=op.f("ck_review_state")),
        sa.ForeignKeyConstraint(["attempt_id"], ["attempt.id"], name=op.f("fk_review_attempt_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["reviewed_by"], ["person.id"], name=op.f("fk_review_reviewed_by")),
        sa.PrimaryKeyConstraint("attempt_id", name=op.f("pk_review")),
    )


def _more_columns() -> None:
    op.add_column("person", sa.Column("erased_at", sa.DateTime(timezone=True), nullable=True))
    op.add_column("consent", _link("class_id", "class_group", "fk_consent_class_id"), inline_references=True)
    op.add_column("photo", sa.Column("origin_id", sa.String(length=32), nullable=True))
    op.add_column("photo", sa.Column("look_hash", sa.String(length=400), nullable=True))
    op.add_column("photo", sa.Column("proposed_landmarks", sa.JSON(none_as_null=True), nullable=True))
    op.add_column("photo", sa.Column("proposed_at", sa.DateTime(timezone=True), nullable=True))
    op.create_index("ix_photo_origin_id", "photo", ["origin_id"])
    op.add_column("attempt", _link("assignment_id", "assignment", "fk_attempt_assignment_id"), inline_references=True)
    op.add_column("attempt", sa.Column("slot", sa.Integer(), nullable=True))
    op.add_column("attempt", sa.Column("try_number", sa.Integer(), nullable=False, server_default="1"))
    op.create_index("ix_attempt_assignment_id", "attempt", ["assignment_id"])
    op.create_index(
        "ix_attempt_one_a_slot", "attempt", ["assignment_id", "person_id", "slot", "try_number"], unique=True
    )


def _link(column: str, table: str, name: str) -> "sa.Column[str]":
    # SQLite takes a reference only as part of the column; PostgreSQL keeps the name.
    return sa.Column(column, sa.String(length=32), sa.ForeignKey(f"{table}.id", name=name), nullable=True)


def _roles_of_who_is_there() -> None:
    """Whoever worked alone so far keeps doing all of it."""
    for role in ("educator", "instructor", "student"):
        op.execute(
            sa.text(
                "INSERT INTO person_role (person_id, role, given_by, given_at)"
                " SELECT id, :role, NULL, created_at FROM person"
            ).bindparams(role=role)
        )
