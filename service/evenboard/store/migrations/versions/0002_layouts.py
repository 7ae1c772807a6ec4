"""Saved layouts with their history, readings, links that open them, expiring keys, the trail."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from evenboard.store.columns import JsonText, UtcDateTime

revision = "0002_layouts"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("desk_key", sa.Column("expires_at", UtcDateTime))
    op.create_table(
        "layout",
        sa.Column("id", sa.String(26), primary_key=True),
        sa.Column("order_ref", sa.String(120)),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("body", JsonText, nullable=False),
        sa.Column("burning", sa.String(64)),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("created_by", sa.String(100), nullable=False),
        sa.Column("updated_at", UtcDateTime, nullable=False),
        sa.Column("updated_by", sa.String(100), nullable=False),
        sa.Column("removed_at", UtcDateTime),
    )
    op.create_index("ix_layout_order_ref", "layout", ["order_ref"])
    op.create_table(
        "layout_event",
        sa.Column("layout_id", sa.String(26), sa.ForeignKey("layout.id"), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("at", UtcDateTime, nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("caller", sa.String(16), nullable=False),
        sa.Column("by", sa.String(100), nullable=False),
        sa.Column("document", JsonText, nullable=False),
    )
    op.create_table(
        "reading",
        sa.Column("id", sa.String(26), primary_key=True),
        sa.Column("layout_id", sa.String(26), sa.ForeignKey("layout.id"), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("taken_at", UtcDateTime, nullable=False),
        sa.Column("received_at", UtcDateTime, nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("caller", sa.String(16), nullable=False),
        sa.Column("by", sa.String(100), nullable=False),
        sa.Column("document", JsonText, nullable=False),
    )
    op.create_index("ix_reading_layout_id_taken_at", "reading", ["layout_id", "taken_at"])
    op.create_table(
        "link",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("may", sa.String(8), nullable=False),
        sa.Column("order_ref", sa.String(120)),
        sa.Column("layout_id", sa.String(26), sa.ForeignKey("layout.id")),
        sa.Column("secret_hash", sa.String(64), nullable=False, unique=True),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("created_by", sa.String(100), nullable=False),
        sa.Column("expires_at", UtcDateTime, nullable=False),
        sa.Column("revoked_at", UtcDateTime),
        sa.CheckConstraint("(order_ref IS NULL) <> (layout_id IS NULL)", name="one_target"),
    )
    op.create_index("ix_link_order_ref", "link", ["order_ref"])
    op.create_index("ix_link_layout_id", "link", ["layout_id"])
    op.create_table(
        "audit",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("at", UtcDateTime, nullable=False, index=True),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("caller", sa.String(16), nullable=False),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("method", sa.String(8), nullable=False),
        sa.Column("path", sa.String(1000), nullable=False),
        sa.Column("what", sa.String(1000), nullable=False),
    )


def downgrade() -> None:
    for table in ("audit", "link", "reading", "layout_event", "layout"):
        op.drop_table(table)
    with op.batch_alter_table("desk_key") as desk_key:
        desk_key.drop_column("expires_at")
