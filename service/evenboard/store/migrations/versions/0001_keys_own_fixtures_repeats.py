"""Keys of the desk, its own fixture types, answers to repeated posts, calls by address."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from evenboard.store.columns import Json, UtcDateTime

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "desk_key",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("secret_hash", sa.String(64), nullable=False, unique=True),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("revoked_at", UtcDateTime),
    )
    catalogue = op.create_table(
        "own_catalogue",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.CheckConstraint("id = 1", name="single"),
    )
    op.bulk_insert(catalogue, [{"id": 1, "revision": 0}])
    op.create_table(
        "own_fixture",
        sa.Column("slug", sa.String(64), primary_key=True),
        sa.Column("document", Json, nullable=False),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("updated_at", UtcDateTime, nullable=False),
        sa.Column("updated_by", sa.String(16), sa.ForeignKey("desk_key.id"), nullable=False),
    )
    op.create_table(
        "idempotency",
        sa.Column("caller", sa.String(16), primary_key=True),
        sa.Column("key", sa.String(255), primary_key=True),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("status", sa.Integer, nullable=False),
        sa.Column("headers", Json, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.Column("created_at", UtcDateTime, nullable=False, index=True),
    )
    op.create_table(
        "rate",
        sa.Column("caller", sa.String(64), primary_key=True),
        sa.Column("minute", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("count", sa.Integer, nullable=False),
    )
    op.create_index("ix_rate_minute", "rate", ["minute"])


def downgrade() -> None:
    for table in ("rate", "idempotency", "own_fixture", "own_catalogue", "desk_key"):
        op.drop_table(table)
