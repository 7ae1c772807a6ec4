"""How alembic runs a step: on the connection that ``Store`` hands it, all steps or none."""

from __future__ import annotations

from alembic import context

from evenboard.store import rows_equipment, rows_layouts, rows_orders  # noqa: F401 - same metadata
from evenboard.store.rows import Row

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Row.metadata,
    compare_type=True,
    # SQLite cannot alter most of a table: alembic then copies it.
    render_as_batch=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
