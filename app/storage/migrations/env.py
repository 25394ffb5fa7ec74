"""Called by Alembic with the open connection that `Database.migrate` hands over."""

from __future__ import annotations

from alembic import context
from sqlmodel import SQLModel

from app.storage import tables  # noqa: F401  (declares the tables)

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=SQLModel.metadata,
    render_as_batch=connection.dialect.name == "sqlite",  # PostgreSQL changes a table in place
)
with context.begin_transaction():
    context.run_migrations()
