"""The first tables: people, consents, photos, reference keys, attempts and what belongs to them."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("handle", sa.String(length=80), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("handle", name=op.f("uq_person_handle")),
    )
    op.create_table(
        "consent",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("recorded_by", sa.String(length=32), nullable=True),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", sa.String(length=24), nullable=False),
        sa.Column("shown", sa.String(length=80), nullable=False),
        sa.Column("given_by", sa.String(length=80), nullable=False),
        sa.Column("scopes", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("faces_covered", sa.Boolean(), nullable=False),
        sa.Column("given_on", sa.Date(), nullable=False),
        sa.Column("expires_on", sa.Date(), nullable=True),
        sa.Column("form_version", sa.String(length=80), nullable=False),
        sa.Column("withdrawn_on", sa.Date(), nullable=True),
        sa.CheckConstraint(
            "kind = 'doll' OR (expires_on IS NOT NULL AND expires_on >= given_on)", name=op.f("ck_consent_days")
        ),
        sa.CheckConstraint("kind IN ('doll', 'person')", name=op.f("ck_consent_kind")),
        sa.ForeignKeyConstraint(["recorded_by"], ["person.id"], name=op.f("fk_consent_recorded_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consent")),
    )
    with op.batch_alter_table("consent", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_consent_recorded_by"), ["recorded_by"], unique=False)

    op.create_table(
        "photo",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("owner_id", sa.String(length=32), nullable=True),
        sa.Column("consent_id", sa.String(length=32), nullable=False),
        sa.Column("sample_id", sa.String(length=80), nullable=True),
        sa.Column("title", sa.String(length=80), nullable=True),
        sa.Column("width", sa.Integer(), nullable=True),
        sa.Column("height", sa.Integer(), nullable=True),
        sa.Column("file_name", sa.String(length=40), nullable=True),
        sa.Column("sha256", sa.String(length=64), nullable=True),
        sa.Column("screen_file_name", sa.String(length=40), nullable=True),
        sa.Column("screen_sha256", sa.String(length=64), nullable=True),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint(
            "(removed_at IS NULL AND title IS NOT NULL AND width > 0 AND height > 0 AND file_name IS NOT NULL"
            " AND sha256 IS NOT NULL AND screen_file_name IS NOT NULL AND screen_sha256 IS NOT NULL)"
            " OR (removed_at IS NOT NULL AND title IS NULL AND width IS NULL AND height IS NULL AND file_name IS NULL"
            " AND sha256 IS NULL AND screen_file_name IS NULL AND screen_sha256 IS NULL)",
            name=op.f("ck_photo_all_or_nothing"),
        ),
        sa.ForeignKeyConstraint(["consent_id"], ["consent.id"], name=op.f("fk_photo_consent_id")),
        sa.ForeignKeyConstraint(["owner_id"], ["person.id"], name=op.f("fk_photo_owner_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
        sa.UniqueConstraint("file_name", name=op.f("uq_photo_file_name")),
        sa.UniqueConstraint("sample_id", name=op.f("uq_photo_sample_id")),
        sa.UniqueConstraint("screen_file_name", name=op.f("uq_photo_screen_file_name")),
    )
    with op.batch_alter_table("photo", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_photo_consent_id"), ["consent_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_owner_id"), ["owner_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_sha256"), ["sha256"], unique=False)

    op.create_table(
        "attempt",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("photo_id", sa.String(length=32), nullable=False),
        sa.Column("order_of_work", sa.String(length=24), nullable=False),
        sa.Column("step", sa.String(length=24), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("handed_in_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("order_of_work IN ('score_first', 'measure_first')", name=op.f("ck_attempt_order_of_work")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_attempt_person_id")),
        sa.ForeignKeyConstraint(["photo_id"], ["photo.id"], name=op.f("fk_attempt_photo_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attempt")),
    )
    with op.batch_alter_table("attempt", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_attempt_person_id"), ["person_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_attempt_photo_id"), ["photo_id"], unique=False)

    op.create_table(
        "reference_key",
        sa.Column("photo_id", sa.String(length=32), nullable=False),
        sa.Column("answers", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("landmarks", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("set_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["photo_id"], ["photo.id"], name=op.f("fk_reference_key_photo_id")),
        sa.PrimaryKeyConstraint("photo_id", name=op.f("pk_reference_key")),
    )
    op.create_table(
        "measurement",
        sa.Column("attempt_id", sa.String(length=32), nullable=False),
        sa.Column("measures", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("measure_version", sa.String(length=80), nullable=False),
        sa.Column("checklist_version", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(
            ["attempt_id"], ["attempt.id"], name=op.f("fk_measurement_attempt_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("attempt_id", name=op.f("pk_measurement")),
    )
    op.create_table(
        "own_sigma",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("attempt_id", sa.String(length=32), nullable=True),
        sa.Column("sigma_percent", sa.Double(), nullable=False),
        sa.Column("n_points", sa.Integer(), nullable=False),
        sa.Column("measured_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("sigma_percent >= 0 AND n_points > 0", name=op.f("ck_own_sigma_positive")),
        sa.ForeignKeyConstraint(
            ["attempt_id"], ["attempt.id"], name=op.f("fk_own_sigma_attempt_id"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_own_sigma_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_sigma")),
        sa.UniqueConstraint("attempt_id", name=op.f("uq_own_sigma_attempt_id")),
    )
    with op.batch_alter_table("own_sigma", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_own_sigma_person_id"), ["person_id"], unique=False)

    op.create_table(
        "placed_points",
        sa.Column("attempt_id", sa.String(length=32), nullable=False),
        sa.Column("round", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("landmarks", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("round IN (1, 2)", name=op.f("ck_placed_points_round")),
        sa.ForeignKeyConstraint(
            ["attempt_id"], ["attempt.id"], name=op.f("fk_placed_points_attempt_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("attempt_id", "round", name=op.f("pk_placed_points")),
    )
    op.create_table(
        "sheet",
        sa.Column("attempt_id", sa.String(length=32), nullable=False),
        sa.Column("round", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("answers", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("round IN (1, 2)", name=op.f("ck_sheet_round")),
        sa.ForeignKeyConstraint(["attempt_id"], ["attempt.id"], name=op.f("fk_sheet_attempt_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("attempt_id", "round", name=op.f("pk_sheet")),
    )
