"""The first shop: the journal, the frames, mesh, rolls, meters and their logs."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Create every table."""
    op.create_table(
        "mesh_type",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("count_as_bought", sa.Double(), nullable=True),
        sa.Column("count_unit", sa.Text(), nullable=False),
        sa.Column("threads_per_cm", sa.Double(), nullable=True),
        sa.Column("thread_um", sa.Double(), nullable=True),
        sa.Column("weave", sa.Text(), nullable=False),
        sa.Column("opening_um", sa.Double(), nullable=True),
        sa.Column("thickness_um", sa.Double(), nullable=True),
        sa.Column("colour", sa.Text(), nullable=False),
        sa.Column("target", sa.Double(), nullable=True),
        sa.Column("tolerance", sa.Double(), nullable=False),
        sa.Column("limit", sa.Double(), nullable=True),
        sa.Column("spread_limit", sa.Double(), nullable=True),
        sa.Column("balance_limit", sa.Double(), nullable=True),
        sa.Column("days_between_readings", sa.Integer(), nullable=True),
        sa.Column("inspect_after_reclaims", sa.Integer(), nullable=True),
        sa.Column("to_be_completed", sa.Boolean(), nullable=False),
        sa.Column("is_hidden", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "colour IN ('white', 'dyed', 'not_told')", name=op.f("ck_mesh_type_colour")
        ),
        sa.CheckConstraint("count_unit IN ('cm', 'inch')", name=op.f("ck_mesh_type_count_unit")),
        sa.CheckConstraint('"limit" > 0 AND "limit" <= 60', name=op.f("ck_mesh_type_limit")),
        sa.CheckConstraint(
            "opening_um IS NULL OR opening_um > 0", name=op.f("ck_mesh_type_opening")
        ),
        sa.CheckConstraint("target > 0 AND target <= 60", name=op.f("ck_mesh_type_target")),
        sa.CheckConstraint(
            "thickness_um IS NULL OR thickness_um > 0", name=op.f("ck_mesh_type_thickness")
        ),
        sa.CheckConstraint("thread_um IS NULL OR thread_um > 0", name=op.f("ck_mesh_type_thread")),
        sa.CheckConstraint(
            "threads_per_cm IS NULL OR threads_per_cm > 0", name=op.f("ck_mesh_type_count")
        ),
        sa.CheckConstraint("tolerance >= 0", name=op.f("ck_mesh_type_tolerance")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mesh_type")),
        sa.UniqueConstraint("name", name=op.f("uq_mesh_type_name")),
    )
    op.create_table(
        "meter",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("resolution", sa.Double(), nullable=False),
        sa.Column("correction", sa.Double(), nullable=False),
        sa.Column("u_n_per_cm", sa.Double(), nullable=False),
        sa.Column("repeatability", sa.Double(), nullable=False),
        sa.Column("certificate_months", sa.Integer(), nullable=False),
        sa.Column("certificate_until", sa.Date(), nullable=True),
        sa.Column("is_hidden", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("resolution > 0", name=op.f("ck_meter_resolution")),
        sa.CheckConstraint(
            "u_n_per_cm >= 0 AND repeatability >= 0", name=op.f("ck_meter_uncertainty")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meter")),
        sa.UniqueConstraint("name", name=op.f("uq_meter_name")),
    )
    op.create_table(
        "operation",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("recorded_at", MOMENT, nullable=False),
        sa.Column("undoes_id", BIG_ID, nullable=True),
        sa.Column("is_undo", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["undoes_id"], ["operation.id"], name=op.f("fk_operation_undoes_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_operation")),
        sa.UniqueConstraint("undoes_id", name=op.f("uq_operation_undoes_id")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "setting",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_setting")),
    )
    op.create_table(
        "change_log",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("operation_id", BIG_ID, nullable=False),
        sa.Column("table_name", sa.Text(), nullable=False),
        sa.Column("row_key", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_change_log_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change_log")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        op.f("ix_change_log_operation_id"), "change_log", ["operation_id"], unique=False
    )
    op.create_table(
        "meter_check",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("meter_id", BIG_ID, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("happened_at", MOMENT, nullable=False),
        sa.Column("shown", sa.Double(), nullable=True),
        sa.Column("expected", sa.Double(), nullable=True),
        sa.Column("is_good", sa.Boolean(), nullable=False),
        sa.Column("valid_until", sa.Date(), nullable=True),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("is_hidden", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "is_good OR kind <> 'certificate'", name=op.f("ck_meter_check_certificate")
        ),
        sa.CheckConstraint(
            "kind IN ('zero', 'reference', 'certificate', 'drop', 'repair', 'found_out')",
            name=op.f("ck_meter_check_kind"),
        ),
        sa.ForeignKeyConstraint(["meter_id"], ["meter.id"], name=op.f("fk_meter_check_meter_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meter_check")),
    )
    op.create_index(op.f("ix_meter_check_meter_id"), "meter_check", ["meter_id"], unique=False)
    op.create_table(
        "roll",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("mesh_type_id", BIG_ID, nullable=False),
        sa.Column("lot", sa.Text(), nullable=False),
        sa.Column("supplier", sa.Text(), nullable=False),
        sa.Column("width_mm", sa.Integer(), nullable=False),
        sa.Column("is_hidden", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("width_mm > 0", name=op.f("ck_roll_width")),
        sa.ForeignKeyConstraint(
            ["mesh_type_id"], ["mesh_type.id"], name=op.f("fk_roll_mesh_type_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_roll")),
        sa.UniqueConstraint("code", name=op.f("uq_roll_code")),
    )
    op.create_index(op.f("ix_roll_mesh_type_id"), "roll", ["mesh_type_id"], unique=False)
    op.create_table(
        "study",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("meter_id", BIG_ID, nullable=False),
        sa.Column("other_meter_id", BIG_ID, nullable=True),
        sa.Column("happened_at", MOMENT, nullable=False),
        sa.Column("readings", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("is_hidden", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("kind IN ('gauge', 'comparison')", name=op.f("ck_study_kind")),
        sa.ForeignKeyConstraint(["meter_id"], ["meter.id"], name=op.f("fk_study_meter_id")),
        sa.ForeignKeyConstraint(
            ["other_meter_id"], ["meter.id"], name=op.f("fk_study_other_meter_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_study")),
    )
    op.create_index(op.f("ix_study_meter_id"), "study", ["meter_id"], unique=False)
    op.create_table(
        "frame",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("own_label", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("height_mm", sa.Double(), nullable=False),
        sa.Column("profile", sa.Text(), nullable=False),
        sa.Column("slot", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("since", MOMENT, nullable=True),
        sa.Column("last_event_at", MOMENT, nullable=True),
        sa.Column("prep_done", sa.Text(), nullable=False),
        sa.Column("corners_settled", sa.Boolean(), nullable=False),
        sa.Column("stretches", sa.Integer(), nullable=False),
        sa.Column("stretches_since_regrind", sa.Integer(), nullable=False),
        sa.Column("hold_reason", sa.Text(), nullable=True),
        sa.Column("reserved_job", sa.Text(), nullable=True),
        sa.Column("reserved_for", sa.Date(), nullable=True),
        sa.Column("taken_out_reason", sa.Text(), nullable=True),
        sa.Column("out_to", sa.Text(), nullable=True),
        sa.Column("due_back_on", sa.Date(), nullable=True),
        sa.Column("state_before", sa.Text(), nullable=True),
        sa.Column("awaits_inbound_survey", sa.Boolean(), nullable=False),
        sa.Column("mesh_type_id", BIG_ID, nullable=True),
        sa.Column("start_event_id", BIG_ID, nullable=True),
        sa.Column("started_at", MOMENT, nullable=True),
        sa.Column("target", sa.Double(), nullable=True),
        sa.Column("roll_id", BIG_ID, nullable=True),
        sa.Column("day0_at", MOMENT, nullable=True),
        sa.Column("released_at", MOMENT, nullable=True),
        sa.Column("glued_at", MOMENT, nullable=True),
        sa.Column("cure_ends_at", MOMENT, nullable=True),
        sa.Column("reclaims", sa.Integer(), nullable=False),
        sa.Column("reclaims_known", sa.Boolean(), nullable=False),
        sa.Column("reclaims_since_inspection", sa.Integer(), nullable=False),
        sa.Column("impressions", sa.Integer(), nullable=False),
        sa.Column("has_stencil", sa.Boolean(), nullable=False),
        sa.Column("mesh_is_done", sa.Boolean(), nullable=False),
        sa.Column("open_damage", sa.Text(), nullable=True),
        sa.Column("inspected_at", MOMENT, nullable=True),
        sa.Column("from_outside", sa.Boolean(), nullable=False),
        sa.Column("survey_event_id", BIG_ID, nullable=True),
        sa.Column("survey_at", MOMENT, nullable=True),
        sa.Column("survey_moment", sa.Text(), nullable=True),
        sa.Column("survey_mean", sa.Double(), nullable=True),
        sa.Column("survey_lowest", sa.Double(), nullable=True),
        sa.Column("survey_spread", sa.Double(), nullable=True),
        sa.Column("survey_imbalance", sa.Double(), nullable=True),
        sa.Column("survey_meter_id", BIG_ID, nullable=True),
        sa.Column("survey_shift", sa.Double(), nullable=True),
        sa.Column("clamp_event_id", BIG_ID, nullable=True),
        sa.Column("clamp_at", MOMENT, nullable=True),
        sa.Column("clamp_moment", sa.Text(), nullable=True),
        sa.Column("clamp_mean", sa.Double(), nullable=True),
        sa.Column("clamp_lowest", sa.Double(), nullable=True),
        sa.Column("clamp_spread", sa.Double(), nullable=True),
        sa.Column("clamp_imbalance", sa.Double(), nullable=True),
        sa.Column("clamp_meter_id", BIG_ID, nullable=True),
        sa.Column("clamp_shift", sa.Double(), nullable=True),
        sa.CheckConstraint("kind IN ('glued', 'roller')", name=op.f("ck_frame_kind")),
        sa.CheckConstraint(
            "state IN ('bare', 'prepped', 'in_clamps', 'curing', 'ready', 'in_use', 'to_reclaim', 'pulled', 'out', 'missing', 'retired', 'void')",
            name=op.f("ck_frame_state"),
        ),
        sa.CheckConstraint(
            "survey_moment IN ('in_clamps', 'before_glue', 'after_release', 'in_service')",
            name=op.f("ck_frame_survey_moment"),
        ),
        sa.CheckConstraint("width_mm > 0 AND height_mm > 0", name=op.f("ck_frame_size")),
        sa.ForeignKeyConstraint(
            ["mesh_type_id"], ["mesh_type.id"], name=op.f("fk_frame_mesh_type_id")
        ),
        sa.ForeignKeyConstraint(["roll_id"], ["roll.id"], name=op.f("fk_frame_roll_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_frame")),
        sa.UniqueConstraint("code", name=op.f("uq_frame_code")),
        sa.UniqueConstraint("number", name=op.f("uq_frame_number")),
    )
    op.create_index("ix_frame_mesh_type_id", "frame", ["mesh_type_id"], unique=False)
    op.create_index("ix_frame_own_label", "frame", ["own_label"], unique=False)
    op.create_index("ix_frame_state", "frame", ["state"], unique=False)
    op.create_table(
        "event",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("operation_id", BIG_ID, nullable=False),
        sa.Column("frame_id", BIG_ID, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("schema", sa.Integer(), nullable=False),
        sa.Column("happened_at", MOMENT, nullable=False),
        sa.Column("recorded_at", MOMENT, nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('registered', 'found_with_mesh', 'prepped', 'stretched', 'staged', 'glued', 'released', 'retensioned', 'surveyed', 'recorrected', 'sent_out', 'received', 'imaged', 'printed', 'to_reclaim', 'reclaimed', 'inspected', 'damaged', 'pulled', 'stripped', 'held', 'hold_ended', 'reserved', 'freed', 'retired', 'missing', 'found', 'withdrawn')",
            name=op.f("ck_event_kind"),
        ),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_event_frame_id")),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_event_operation_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_event")),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_event_frame_id", "event", ["frame_id"], unique=False)
    op.create_index("ix_event_happened_at", "event", ["happened_at"], unique=False)
    op.create_index(op.f("ix_event_operation_id"), "event", ["operation_id"], unique=False)
    op.create_table(
        "detail_damaged",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("damage", sa.Text(), nullable=False),
        sa.Column("mesh_is_done", sa.Boolean(), nullable=False),
        sa.Column("where", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "damage IN ('corner_tear', 'hole', 'burst', 'glue_lift', 'ghost', 'bent_bar', 'other')",
            name=op.f("ck_detail_damaged_damage"),
        ),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_damaged_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_damaged")),
    )
    op.create_table(
        "detail_found_with_mesh",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("mesh_type_id", BIG_ID, nullable=False),
        sa.Column("reclaims_so_far", sa.Integer(), nullable=True),
        sa.Column("mesh_since", MOMENT, nullable=True),
        sa.Column("target_n_per_cm", sa.Double(), nullable=True),
        sa.CheckConstraint("reclaims_so_far >= 0", name=op.f("ck_detail_found_with_mesh_reclaims")),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_found_with_mesh_event_id")
        ),
        sa.ForeignKeyConstraint(
            ["mesh_type_id"], ["mesh_type.id"], name=op.f("fk_detail_found_with_mesh_mesh_type_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_found_with_mesh")),
    )
    op.create_table(
        "detail_glued",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("cure_ends_at", MOMENT, nullable=False),
        sa.Column("adhesive_lot", sa.Text(), nullable=False),
        sa.Column("activator_lot", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name=op.f("fk_detail_glued_event_id")),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_glued")),
    )
    op.create_table(
        "detail_held",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name=op.f("fk_detail_held_event_id")),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_held")),
    )
    op.create_table(
        "detail_imaged",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name=op.f("fk_detail_imaged_event_id")),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_imaged")),
    )
    op.create_table(
        "detail_inspected",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("findings", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_inspected_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_inspected")),
    )
    op.create_table(
        "detail_prepped",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("gap_mm", sa.Double(), nullable=True),
        sa.CheckConstraint(
            "result IN ('done', 'skipped', 'failed')", name=op.f("ck_detail_prepped_result")
        ),
        sa.CheckConstraint(
            "step IN ('inspect', 'old_glue', 'abrade', 'degrease', 'regrind', 'corners')",
            name=op.f("ck_detail_prepped_step"),
        ),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_prepped_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_prepped")),
    )
    op.create_table(
        "detail_printed",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("impressions", sa.Integer(), nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.CheckConstraint("impressions >= 0", name=op.f("ck_detail_printed_impressions")),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_printed_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_printed")),
    )
    op.create_table(
        "detail_pulled",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name=op.f("fk_detail_pulled_event_id")),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_pulled")),
    )
    op.create_table(
        "detail_received",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("mesh_type_id", BIG_ID, nullable=True),
        sa.Column("target_n_per_cm", sa.Double(), nullable=True),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_received_event_id")
        ),
        sa.ForeignKeyConstraint(
            ["mesh_type_id"], ["mesh_type.id"], name=op.f("fk_detail_received_mesh_type_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_received")),
    )
    op.create_table(
        "detail_reclaimed",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("haze_remover", sa.Boolean(), nullable=False),
        sa.Column("findings", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_reclaimed_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_reclaimed")),
    )
    op.create_table(
        "detail_reserved",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("needed_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_reserved_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_reserved")),
    )
    op.create_table(
        "detail_retensioned",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("target_n_per_cm", sa.Double(), nullable=False),
        sa.CheckConstraint(
            "target_n_per_cm > 0 AND target_n_per_cm <= 60",
            name=op.f("ck_detail_retensioned_target"),
        ),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_retensioned_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_retensioned")),
    )
    op.create_table(
        "detail_retired",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_retired_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_retired")),
    )
    op.create_table(
        "detail_sent_out",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("to", sa.Text(), nullable=False),
        sa.Column("due_back_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_sent_out_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_sent_out")),
    )
    op.create_table(
        "detail_staged",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("tension_n_per_cm", sa.Double(), nullable=False),
        sa.Column("rest_minutes", sa.Integer(), nullable=False),
        sa.CheckConstraint("rest_minutes >= 0", name=op.f("ck_detail_staged_rest")),
        sa.CheckConstraint(
            "tension_n_per_cm > 0 AND tension_n_per_cm <= 60", name=op.f("ck_detail_staged_tension")
        ),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name=op.f("fk_detail_staged_event_id")),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_staged")),
    )
    op.create_table(
        "detail_stretched",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("mesh_type_id", BIG_ID, nullable=False),
        sa.Column("target_n_per_cm", sa.Double(), nullable=False),
        sa.Column("roll_id", BIG_ID, nullable=True),
        sa.Column("frames_in_pull", sa.Integer(), nullable=False),
        sa.Column("cut_length_mm", sa.Integer(), nullable=True),
        sa.Column("cut_width_mm", sa.Integer(), nullable=True),
        sa.Column("warp_along", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "warp_along IN ('long', 'short')", name=op.f("ck_detail_stretched_warp_along")
        ),
        sa.CheckConstraint("frames_in_pull >= 1", name=op.f("ck_detail_stretched_pull")),
        sa.CheckConstraint(
            "target_n_per_cm > 0 AND target_n_per_cm <= 60", name=op.f("ck_detail_stretched_target")
        ),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_stretched_event_id")
        ),
        sa.ForeignKeyConstraint(
            ["mesh_type_id"], ["mesh_type.id"], name=op.f("fk_detail_stretched_mesh_type_id")
        ),
        sa.ForeignKeyConstraint(["roll_id"], ["roll.id"], name=op.f("fk_detail_stretched_roll_id")),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_stretched")),
    )
    op.create_table(
        "detail_surveyed",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("moment", sa.Text(), nullable=False),
        sa.Column("meter_id", BIG_ID, nullable=True),
        sa.Column("correction_n_per_cm", sa.Double(), nullable=False),
        sa.CheckConstraint(
            "moment IN ('in_clamps', 'before_glue', 'after_release', 'in_service')",
            name=op.f("ck_detail_surveyed_moment"),
        ),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_surveyed_event_id")
        ),
        sa.ForeignKeyConstraint(
            ["meter_id"], ["meter.id"], name=op.f("fk_detail_surveyed_meter_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_surveyed")),
    )
    op.create_index(
        op.f("ix_detail_surveyed_meter_id"), "detail_surveyed", ["meter_id"], unique=False
    )
    op.create_table(
        "detail_withdrawn",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("target_id", BIG_ID, nullable=False),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_withdrawn_event_id")
        ),
        sa.ForeignKeyConstraint(
            ["target_id"], ["event.id"], name=op.f("fk_detail_withdrawn_target_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_withdrawn")),
        sa.UniqueConstraint("target_id", name=op.f("uq_detail_withdrawn_target_id")),
    )
    op.create_table(
        "stock_move",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("operation_id", BIG_ID, nullable=False),
        sa.Column("mesh_type_id", BIG_ID, nullable=False),
        sa.Column("roll_id", BIG_ID, nullable=True),
        sa.Column("event_id", BIG_ID, nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("length_mm", sa.Integer(), nullable=False),
        sa.Column("width_mm", sa.Integer(), nullable=True),
        sa.Column("happened_at", MOMENT, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("reverses_id", BIG_ID, nullable=True),
        sa.CheckConstraint(
            "kind IN ('received', 'cut', 'scrapped', 'counted')", name=op.f("ck_stock_move_kind")
        ),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name=op.f("fk_stock_move_event_id")),
        sa.ForeignKeyConstraint(
            ["mesh_type_id"], ["mesh_type.id"], name=op.f("fk_stock_move_mesh_type_id")
        ),
        sa.ForeignKeyConstraint(
            ["operation_id"], ["operation.id"], name=op.f("fk_stock_move_operation_id")
        ),
        sa.ForeignKeyConstraint(
            ["reverses_id"], ["stock_move.id"], name=op.f("fk_stock_move_reverses_id")
        ),
        sa.ForeignKeyConstraint(["roll_id"], ["roll.id"], name=op.f("fk_stock_move_roll_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_move")),
        sa.UniqueConstraint("reverses_id", name=op.f("uq_stock_move_reverses_id")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_stock_move_event_id"), "stock_move", ["event_id"], unique=False)
    op.create_index(
        op.f("ix_stock_move_mesh_type_id"), "stock_move", ["mesh_type_id"], unique=False
    )
    op.create_index(
        op.f("ix_stock_move_operation_id"), "stock_move", ["operation_id"], unique=False
    )
    op.create_index(op.f("ix_stock_move_roll_id"), "stock_move", ["roll_id"], unique=False)
    op.create_table(
        "detail_recorrected",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("survey_id", BIG_ID, nullable=False),
        sa.Column("correction_n_per_cm", sa.Double(), nullable=False),
        sa.Column("was_n_per_cm", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["event_id"], ["event.id"], name=op.f("fk_detail_recorrected_event_id")
        ),
        sa.ForeignKeyConstraint(
            ["survey_id"],
            ["detail_surveyed.event_id"],
            name=op.f("fk_detail_recorrected_survey_id"),
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_detail_recorrected")),
    )
    op.create_index(
        op.f("ix_detail_recorrected_survey_id"), "detail_recorrected", ["survey_id"], unique=False
    )
    op.create_table(
        "reading",
        sa.Column("event_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("point", sa.Integer(), nullable=False),
        sa.Column("direction", sa.Text(), nullable=False),
        sa.Column("raw_n_per_cm", sa.Double(), nullable=False),
        sa.CheckConstraint(
            "direction IN ('warp', 'weft', 'not_told')", name=op.f("ck_reading_direction")
        ),
        sa.CheckConstraint("point >= 1", name=op.f("ck_reading_point")),
        sa.CheckConstraint("raw_n_per_cm > 0 AND raw_n_per_cm <= 60", name=op.f("ck_reading_raw")),
        sa.ForeignKeyConstraint(
            ["event_id"], ["detail_surveyed.event_id"], name=op.f("fk_reading_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", "place", name=op.f("pk_reading")),
    )
