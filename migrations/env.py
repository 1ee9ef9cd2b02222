"""Alembic's door into the schema. Always given a connection: by app.migrate, or by `python -m migrations.draft`."""

from alembic import context

from app import migrate, tables
from app.search import index
from migrations import drafting

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=tables.metadata, render_as_batch=True,
                  transactional_ddl=False, compare_type=True, include_name=index.is_migrated,
                  compare_server_default=drafting.other_default,
                  process_revision_directives=drafting.finish, render_item=drafting.render)
context.run_migrations()
if migrate.revision(connection) == migrate.newest():
    index.fill(connection)
index.lay(connection)  # after it is filled: an index is made faster than it grows
