"""Equipment by tag with its history, photos and runs; which layouts name which tags."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from evenboard.store.columns import JsonText, UtcDateTime
from evenboard.store.tags import tags_in

revision = "0004_equipment"
down_revision = "0003_orders"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "equipment",
        sa.Column("tag", sa.String(64), primary_key=True),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.Column("order_ref", sa.String(120)),
        sa.Column("test_from", sa.Date),
        sa.Column("test_by", sa.Date),
        sa.Column("record", JsonText, nullable=False),
        sa.Column("standing", JsonText, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("created_by", sa.String(100), nullable=False),
        sa.Column("updated_at", UtcDateTime, nullable=False),
        sa.Column("updated_by", sa.String(100), nullable=False),
    )
    op.create_index("ix_equipment_state", "equipment", ["state"])
    op.create_index("ix_equipment_order_ref", "equipment", ["order_ref"])
    op.create_table(
        "equipment_event",
        sa.Column("tag", sa.String(64), sa.ForeignKey("equipment.tag"), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("order_ref", sa.String(120)),
        sa.Column("at", UtcDateTime, nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("caller", sa.String(16), nullable=False),
        sa.Column("by", sa.String(100), nullable=False),
        sa.Column("document", JsonText, nullable=False),
    )
    op.create_index("ix_equipment_event_order_ref", "equipment_event", ["order_ref"])
    op.create_table(
        "equipment_photo",
        sa.Column("id", sa.String(26), primary_key=True),
        sa.Column("tag", sa.String(64), sa.ForeignKey("equipment.tag"), nullable=False),
        sa.Column("at", UtcDateTime, nullable=False),
        sa.Column("by", sa.String(100), nullable=False),
        sa.Column("media_type", sa.String(32), nullable=False),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
    op.create_index("ix_equipment_photo_tag", "equipment_photo", ["tag"])
    op.create_table(
        "equipment_run",
        sa.Column("tag", sa.String(64), sa.ForeignKey("equipment.tag"), primary_key=True),
        sa.Column("source", sa.String(8), primary_key=True),
        sa.Column("source_id", sa.String(64), primary_key=True),
        sa.Column("order_ref", sa.String(120), nullable=False),
        sa.Column("at", UtcDateTime, nullable=False),
        sa.Column("counts", sa.Boolean, nullable=False),
        sa.Column("spread_kh", sa.Double, nullable=False),
        sa.Column("document", JsonText, nullable=False),
    )
    op.create_index("ix_equipment_run_order_ref", "equipment_run", ["order_ref"])
    named = op.create_table(
        "layout_tag",
        sa.Column("layout_id", sa.String(26), sa.ForeignKey("layout.id"), primary_key=True),
        sa.Column("tag", sa.String(64), primary_key=True),
    )
    op.create_index("ix_layout_tag_tag", "layout_tag", ["tag"])
    layout = sa.table("layout", sa.column("id", sa.String), sa.column("body", JsonText))
    rows = [
        {"layout_id": row.id, "tag": tag}
        for row in op.get_bind().execute(sa.select(layout.c.id, layout.c.body))
        for tag in sorted(tags_in(row.body))
    ]
    if rows:
        op.bulk_insert(named, rows)


def downgrade() -> None:
    for table in (
        "layout_tag",
        "equipment_run",
        "equipment_photo",
        "equipment_event",
        "equipment",
    ):
        op.drop_table(table)
