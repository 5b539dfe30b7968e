"""What is kept of the tension forecast, and what buying mesh needs to know."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add columns to mesh types and rolls, and three tables."""
    _forecast()
    _buying()


def _buying() -> None:
    for name, kind in (
        ("buy_from", sa.Text()),
        ("lead_time_days", sa.Double()),
        ("lead_time_sd_days", sa.Double()),
        ("buy_width_mm", sa.Integer()),
        ("buy_length_mm", sa.Integer()),
        ("price_per_m", sa.Text()),
    ):
        op.add_column("mesh_type", sa.Column(name, kind, nullable=True))
    with op.batch_alter_table("roll") as batch:
        batch.add_column(sa.Column("price_per_m", sa.Text(), nullable=True))
        batch.add_column(sa.Column("from_roll_id", BIG_ID, nullable=True))
        batch.create_foreign_key(op.f("fk_roll_from_roll_id"), "roll", ["from_roll_id"], ["id"])
    op.create_table(
        "cut_piece",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("mesh_type_id", BIG_ID, nullable=False),
        sa.Column("roll_id", BIG_ID, nullable=True),
        sa.Column("frame_id", BIG_ID, nullable=False),
        sa.Column("length_mm", sa.Integer(), nullable=False),
        sa.Column("width_mm", sa.Integer(), nullable=False),
        sa.Column("cut_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("is_used", sa.Boolean(), nullable=False),
        sa.Column("is_hidden", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("length_mm > 0 AND width_mm > 0", name=op.f("ck_cut_piece_size")),
        sa.ForeignKeyConstraint(
            ["mesh_type_id"], ["mesh_type.id"], name=op.f("fk_cut_piece_mesh_type_id")
        ),
        sa.ForeignKeyConstraint(["roll_id"], ["roll.id"], name=op.f("fk_cut_piece_roll_id")),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_cut_piece_frame_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cut_piece")),
    )
    op.create_index("ix_cut_piece_frame_id", "cut_piece", ["frame_id"])
    op.create_table(
        "supply",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("batch", sa.Text(), nullable=False),
        sa.Column("best_before", sa.Date(), nullable=True),
        sa.Column("opened_on", sa.Date(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("is_hidden", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("kind IN ('adhesive', 'activator')", name=op.f("ck_supply_kind")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supply")),
    )


def _forecast() -> None:
    op.add_column("mesh_type", sa.Column("risk", sa.Double(), nullable=True))
    op.add_column("mesh_type", sa.Column("longest_wait_days", sa.Integer(), nullable=True))
    op.execute("UPDATE mesh_type SET risk = 0.04, longest_wait_days = 42")
    op.create_table(
        "fleet_fit",
        sa.Column("id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("maths", sa.Integer(), nullable=False),
        sa.Column("fitted_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_event_id", BIG_ID, nullable=False),
        sa.Column("stretches", sa.Integer(), nullable=False),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("fleet", sa.Text(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_fleet_fit_one")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fleet_fit")),
    )
    op.create_table(
        "outlook",
        sa.Column("frame_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("rests_on", sa.Text(), nullable=False),
        sa.Column("outlook", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_outlook_frame_id")),
        sa.PrimaryKeyConstraint("frame_id", name=op.f("pk_outlook")),
    )
