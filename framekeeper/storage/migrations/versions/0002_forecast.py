"""The tension forecast: what is kept of it, and the shop's thresholds for it."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the thresholds to each mesh type, and the two tables."""
    op.add_column("mesh_type", sa.Column("risk", sa.Double(), nullable=True))
    op.add_column("mesh_type", sa.Column("longest_wait_days", sa.Integer(), nullable=True))
    op.execute("UPDATE mesh_type SET risk = 0.04, longest_wait_days = 50")
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
