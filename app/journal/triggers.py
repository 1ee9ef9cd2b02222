"""Triggers in the database: nothing is deleted, and what was issued or signed, like the journal, is not even changed.

Made anew after every migration, because SQLite drops a table's triggers when a migration rebuilds the table.
"""

from __future__ import annotations

import sqlalchemy as sa

# What has no value after its moment: keys of forms that were sent, tries that failed, codes that were used.
MAY_BE_DELETED = frozenset({"alembic_version", "once_key", "held_post", "guesses", "enrol_code"})
NEVER_CHANGED = frozenset({"journal_entry", "quote", "quote_issued_line", "quote_authorisation", "quote_decision",
                           "declined_work", "issued_document", "return_signature", "unrepaired_acknowledgement"})

_FUNCTION = """
CREATE OR REPLACE FUNCTION tagstrip_refuse() RETURNS trigger AS $$
BEGIN RAISE EXCEPTION '% on % is refused: entries are corrected by later ones', TG_OP, TG_TABLE_NAME; END
$$ LANGUAGE plpgsql
"""


def protect(connection: sa.Connection) -> None:
    """Put the triggers on every table that keeps records."""
    if connection.dialect.name == "postgresql":
        connection.execute(sa.text(_FUNCTION))
    for table in sa.inspect(connection).get_table_names():
        if table in MAY_BE_DELETED:
            continue
        for verb in ("DELETE", "UPDATE") if table in NEVER_CHANGED else ("DELETE",):
            connection.execute(sa.text(_statement(connection.dialect.name, table, verb)))


def _statement(dialect: str, table: str, verb: str) -> str:
    name = f"no_{verb.lower()}_{table}"
    if dialect == "postgresql":
        return (f'CREATE OR REPLACE TRIGGER {name} BEFORE {verb} ON "{table}" '
                "FOR EACH ROW EXECUTE FUNCTION tagstrip_refuse()")
    return (f'CREATE TRIGGER IF NOT EXISTS {name} BEFORE {verb} ON "{table}" BEGIN '
            f"SELECT RAISE(ABORT, '{verb} on {table} is refused: entries are corrected by later ones'); END")
