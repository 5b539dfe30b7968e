"""Runs a migration on the connection that `framekeeper.storage.migrate` hands over."""

from __future__ import annotations

from alembic import context

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=context.config.attributes.get("metadata"),
    render_as_batch=True,
    compare_type=True,
    compare_server_default=True,
    transaction_per_migration=False,
)
context.run_migrations()
