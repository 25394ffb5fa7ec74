"""Called by Alembic with the open connection that `Database.migrate` hands over."""

from __future__ import annotations

from alembic import context
from sqlmodel import SQLModel

from app.storage import tables  # noqa: F401  (declares the tables)

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
