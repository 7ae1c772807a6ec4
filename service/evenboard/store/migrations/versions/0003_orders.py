"""Orders of the desk, reports issued on them, keys that sign, webhooks and what they are told."""

from __future__ import annotations

import unicodedata

import sqlalchemy as sa
from alembic import op

from evenboard.store.columns import UtcDateTime, now

revision = "0003_orders"
down_revision = "0002_layouts"
branch_labels = None
depends_on = None

_TABLES = ("delivery", "webhook", "report_paper", "report", "signing_key", "desk_order")
_ISSUED = ("report", "report_paper")


def upgrade() -> None:
    op.create_table(
        "desk_order",
        sa.Column("ref", sa.String(120), primary_key=True),
        sa.Column("production", sa.String(200), nullable=False),
        sa.Column("contact", sa.String(200), nullable=False),
        sa.Column("note", sa.String(1000), nullable=False),
        sa.Column("starts_on", sa.Date),
        sa.Column("ends_on", sa.Date),
        sa.Column("reports", sa.Integer, nullable=False),
        sa.Column("sought", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("created_by", sa.String(100), nullable=False),
        sa.Column("updated_at", UtcDateTime, nullable=False),
        sa.Column("updated_by", sa.String(100), nullable=False),
    )
    op.create_index("ix_desk_order_created_at", "desk_order", ["created_at"])
    op.create_index("ix_desk_order_starts_on", "desk_order", ["starts_on"])
    op.create_table(
        "signing_key",
        sa.Column("id", sa.String(43), primary_key=True),
        sa.Column("public_key", sa.String(43), nullable=False),
        sa.Column("private_key", sa.String(43), nullable=False),
        sa.Column("in_force", sa.Integer, unique=True),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("created_by", sa.String(100), nullable=False),
        sa.Column("retired_at", UtcDateTime),
    )
    op.create_table(
        "report",
        sa.Column("id", sa.String(26), primary_key=True),
        sa.Column("order_ref", sa.String(120), sa.ForeignKey("desk_order.ref"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("layout_id", sa.String(26), sa.ForeignKey("layout.id")),
        sa.Column("layout_version", sa.Integer),
        sa.Column("title", sa.String(200), nullable=False),
        sa.Column("verdict", sa.String(8), nullable=False),
        sa.Column("paper", sa.String(8), nullable=False),
        sa.Column("issued_at", UtcDateTime, nullable=False),
        sa.Column("issued_by", sa.String(100), nullable=False),
        sa.Column("supersedes", sa.String(26), sa.ForeignKey("report.id"), unique=True),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.Column("content_sha256", sa.String(64), nullable=False),
        sa.Column("signature", sa.String(86), nullable=False),
        sa.Column("key_id", sa.String(43), sa.ForeignKey("signing_key.id"), nullable=False),
        sa.Column("verify_url", sa.Text, nullable=False),
        sa.UniqueConstraint("order_ref", "number"),
    )
    op.create_index("ix_report_issued_at", "report", ["issued_at"])
    op.create_index("ix_report_layout_id", "report", ["layout_id"])
    op.create_table(
        "report_paper",
        sa.Column("report_id", sa.String(26), sa.ForeignKey("report.id"), primary_key=True),
        sa.Column("paper", sa.String(8), primary_key=True),
        sa.Column("pdf", sa.LargeBinary, nullable=False),
        sa.Column("pdf_sha256", sa.String(64), nullable=False),
        sa.Column("made_at", UtcDateTime, nullable=False),
    )
    op.create_table(
        "webhook",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("url", sa.Text, nullable=False),
        sa.Column("secret", sa.String(100), nullable=False),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("created_by", sa.String(100), nullable=False),
        sa.Column("removed_at", UtcDateTime),
    )
    op.create_table(
        "delivery",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("webhook_id", sa.String(16), sa.ForeignKey("webhook.id"), nullable=False),
        sa.Column("event", sa.String(40), nullable=False),
        sa.Column("report_id", sa.String(26), sa.ForeignKey("report.id")),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("status", sa.String(10), nullable=False),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("created_at", UtcDateTime, nullable=False),
        sa.Column("next_at", UtcDateTime),
        sa.Column("leased_until", UtcDateTime),
        sa.Column("leased_by", sa.String(32)),
        sa.Column("tried_at", UtcDateTime),
        sa.Column("answer", sa.String(300)),
        sa.Column("delivered_at", UtcDateTime),
    )
    op.create_index("ix_delivery_next_at", "delivery", ["next_at"])
    op.create_index("ix_delivery_webhook_id_created_at", "delivery", ["webhook_id", "created_at"])
    _refuse_changes()
    _take_up_orders()


def downgrade() -> None:
    for table in _TABLES:
        op.drop_table(table)
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION issued_never_changes()")


def _refuse_changes() -> None:
    """What was issued stays as it is, whoever writes: the database itself says no."""
    words = "an issued report never changes"
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION issued_never_changes() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{words}'; END $$"
        )
        for table in _ISSUED:
            op.execute(
                f"CREATE TRIGGER {table}_never_changes BEFORE UPDATE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION issued_never_changes()"
            )
    else:
        for table in _ISSUED:
            op.execute(
                f"CREATE TRIGGER {table}_never_changes BEFORE UPDATE ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{words}'); END"
            )


def _take_up_orders() -> None:
    """Orders that layouts and links already speak of, their references in one form."""
    bind = op.get_bind()
    refs = set()
    for name in ("layout", "link"):
        table = sa.table(name, sa.column("order_ref", sa.String))
        known = bind.execute(sa.select(table.c.order_ref).distinct()).scalars().all()
        for ref in filter(None, known):
            one_form = unicodedata.normalize("NFC", ref)
            if one_form != ref:
                bind.execute(
                    table.update().where(table.c.order_ref == ref).values(order_ref=one_form)
                )
            refs.add(one_form)
    order = sa.table(
        "desk_order",
        *(sa.column(n, sa.String) for n in ("ref", "production", "contact", "note", "sought")),
        *(sa.column(n, sa.Integer) for n in ("reports", "version")),
        *(sa.column(n, UtcDateTime) for n in ("created_at", "updated_at")),
        *(sa.column(n, sa.String) for n in ("created_by", "updated_by")),
    )
    moment = now()
    for ref in sorted(refs):
        bind.execute(
            order.insert().values(
                ref=ref,
                production="",
                contact="",
                note="",
                sought=ref.casefold(),
                reports=0,
                version=1,
                created_at=moment,
                updated_at=moment,
                created_by="",
                updated_by="",
            )
        )
