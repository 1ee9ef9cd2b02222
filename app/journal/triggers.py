"""Triggers in the database: nothing is deleted, and what was issued or signed, like the journal, is not even changed.

Lifted for the length of a migration, inside its transaction, and made anew at its end: a migration may correct what nobody
else may, and SQLite drops a table's triggers when a migration rebuilds the table.
"""

from __future__ import annotations

import sqlalchemy as sa

DERIVED = "search_"  # tables that are made from others and can be made anew
# What has no value after its moment: keys of forms that were sent, sign-ins that ended, tries that failed, codes that were used.
MAY_BE_DELETED = frozenset({"alembic_version", "once_key", "held_post", "sign_in", "guesses", "enrol_code"})
NEVER_CHANGED = frozenset({"journal_entry", "quote", "quote_issued_line", "quote_authorisation", "quote_decision",
                           "declined_work", "issued_document", "hardware_class", "incident", "incident_entry", "return_signature",
                           "unrepaired_acknowledgement", "supply_list", "supply_capacitor", "discharge_record",
                           "discharge_reading"})

_FUNCTION = """
CREATE OR REPLACE FUNCTION tagstrip_refuse() RETURNS trigger AS $$
BEGIN RAISE EXCEPTION '% on % is refused: entries are corrected by later ones', TG_OP, TG_TABLE_NAME; END
$$ LANGUAGE plpgsql
"""


_ALL = {
    "sqlite": "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
                  "JOIN pg_proc p ON p.oid = t.tgfoid WHERE p.proname = 'tagstrip_refuse' AND pg_table_is_visible(c.oid)",
}


def lift(connection: sa.Connection) -> None:
    """Take the triggers off every table, until `protect` or the end of this transaction without a commit."""
    dialect = connection.dialect.name
    for name, table in connection.execute(sa.text(_ALL[dialect])).all():
        if name in (_name("DELETE", table), _name("UPDATE", table)):
            connection.execute(sa.text(f'DROP TRIGGER "{name}"' + (f' ON "{table}"' if dialect == "postgresql" else "")))


def protect(connection: sa.Connection) -> None:
    """Put the triggers on every table that keeps records."""
    if connection.dialect.name == "postgresql":
        connection.execute(sa.text(_FUNCTION))
    for table in sa.inspect(connection).get_table_names():
        if table in MAY_BE_DELETED or table.startswith(DERIVED):
            continue
        for verb in ("DELETE", "UPDATE") if table in NEVER_CHANGED else ("DELETE",):
            connection.execute(sa.text(_statement(connection.dialect.name, table, verb)))


def _statement(dialect: str, table: str, verb: str) -> str:
    name = _name(verb, table)
    if dialect == "postgresql":
        return (f'CREATE OR REPLACE TRIGGER {name} BEFORE {verb} ON "{table}" '
                "FOR EACH ROW EXECUTE FUNCTION tagstrip_refuse()")
    return (f'CREATE TRIGGER IF NOT EXISTS {name} BEFORE {verb} ON "{table}" BEGIN '
            f"SELECT RAISE(ABORT, '{verb} on {table} is refused: entries are corrected by later ones'); END")


def _name(verb: str, table: str) -> str:
    return f"no_{verb.lower()}_{table}"
