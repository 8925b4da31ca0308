"""Run by Alembic; the connection, and with it the transaction, is the caller's."""

from alembic import context
from sqlalchemy import Connection

from storage.schema import metadata

connection: Connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=metadata,
    transactional_ddl=True,
    render_as_batch=connection.dialect.name == "sqlite",
)
with context.begin_transaction():
    context.run_migrations()
