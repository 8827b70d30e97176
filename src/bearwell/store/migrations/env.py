"""Runs the steps on the connection that the store opened, inside its transaction."""

from alembic import context

from bearwell.store.schema import VERSION_TABLE

context.configure(
    connection=context.config.attributes["connection"],
    version_table=VERSION_TABLE,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
