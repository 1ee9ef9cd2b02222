"""Triggers in the database: nothing is deleted, and what was issued or signed, like the journal, is not even changed.

Lifted for the length of a migration, inside its transaction, and made anew at its end: a migration may correct what nobody
else may, and SQLite drops a table's triggers when a migration rebuilds the table.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import sqlalchemy as sa

from app.errors import Unavailable

DERIVED = "search_"  # tables that are made from others and can be made anew
# What has no value after its moment: keys of forms that were sent, sign-ins that ended, tries that failed, codes that were used.
# And which folder holds the files: that is another in each restored shop.
MAY_BE_DELETED = frozenset({"alembic_version", "once_key", "held_post", "sign_in", "guesses", "enrol_code", "photo_store",
                             "password_code"})
NEVER_CHANGED = frozenset({"journal_entry", "quote", "quote_issued_line", "quote_authorisation", "quote_decision",
                           "declined_work", "erasure", "issued_document", "hardware_class", "incident", "incident_entry",
                           "return_signature", "unrepaired_acknowledgement", "supply_list", "supply_capacitor",
                           "discharge_record", "discharge_reading", "hours_call", "task_before", "bill", "credit_note"})

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
_OTHERS = {
    "sqlite": "SELECT name, tbl_name AS tbl FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT t.tgname AS name, c.relname AS tbl FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
                  "WHERE NOT t.tgisinternal AND pg_table_is_visible(c.oid)",
}
# Name, and what it does: on PostgreSQL its table, its verb, and whether it is enabled.
_STANDING = {
    "sqlite": "SELECT name, sql AS told FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT t.tgname AS name, c.relname || ' ' || "
                  "CASE WHEN t.tgqual IS NOT NULL OR t.tgattr <> '' THEN 'sometimes' "
                  "WHEN t.tgtype = 11 THEN 'DELETE' WHEN t.tgtype = 19 THEN 'UPDATE' ELSE '' END "
                  "|| ' ' || CAST(t.tgenabled AS text) AS told FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
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
    for table, verb in _protected(connection):
        connection.execute(sa.text(_statement(connection.dialect.name, table, verb)))


def _protected(connection: sa.Connection) -> Iterator[tuple[str, str]]:
    for table in sa.inspect(connection).get_table_names():
        if table not in MAY_BE_DELETED and not table.startswith(DERIVED):
            yield from ((table, verb) for verb in (("DELETE", "UPDATE") if table in NEVER_CHANGED else ("DELETE",)))


@contextmanager
def changes_allowed(connection: sa.Connection) -> Iterator[None]:
    """What else is never changed may be changed inside, nothing deleted: for an erasure, whose own entry tells of it.

    Unavailable where the database lets this program change no trigger. Inside a transaction, which ends with them or not at all.
    """
    dialect = connection.dialect.name
    tables = [table for table, verb in _protected(connection) if verb == "UPDATE"]
    try:
        for table in tables:
            name = _name("UPDATE", table)
            connection.execute(sa.text(f'DROP TRIGGER "{name}"' + (f' ON "{table}"' if dialect == "postgresql" else "")))
    except sa.exc.DBAPIError as wrong:
        raise Unavailable("The database does not let Tagstrip lift its own guards for a moment, so nobody can be erased. "
                          "Start Tagstrip as the role that owns the tables.") from wrong
    yield
    for table in tables:
        connection.execute(sa.text(_statement(dialect, table, "UPDATE")))


def missing(connection: sa.Connection) -> list[str]:
    """The triggers that should stand and do not, or do something else, or are switched off; by name."""
    there = {row.name: row.told for row in connection.execute(sa.text(_STANDING[connection.dialect.name]))}
    wanted = {_name(verb, table): _told(connection.dialect.name, table, verb) for table, verb in _protected(connection)}
    return sorted(name for name, told in wanted.items() if there.get(name) != told)


def strange(connection: sa.Connection) -> list[str]:
    """What acts on writing and is not Tagstrip's: other triggers, and on PostgreSQL rules and a refusal that was rewritten."""
    ours = {_name(verb, table) for table, verb in _protected(connection)}
    found = [f"a trigger {row.name} on {row.tbl}" for row in connection.execute(sa.text(_OTHERS[connection.dialect.name]))
             if row.name not in ours and not (row.tbl.startswith(DERIVED) and row.name.startswith(DERIVED))]
    if connection.dialect.name == "postgresql":
        found += [f"a rule {row.rulename} on {row.tablename}" for row in connection.execute(sa.text(
            "SELECT rulename, tablename FROM pg_rules WHERE schemaname = current_schema()"))]
        body = connection.execute(sa.text("SELECT prosrc FROM pg_proc WHERE proname = 'tagstrip_refuse' AND "
                                          "pg_function_is_visible(oid)")).scalar()
        if body is not None and body.strip() != _FUNCTION.split("$$")[1].strip():
            found.append("a function tagstrip_refuse")
    return sorted(found)


def _told(dialect: str, table: str, verb: str) -> str:
    """What the database tells of such a trigger."""
    if dialect == "postgresql":
        return f"{table} {verb} O"
    return _statement(dialect, table, verb).replace("IF NOT EXISTS ", "")


def _statement(dialect: str, table: str, verb: str) -> str:
    name = _name(verb, table)
    if dialect == "postgresql":
        return (f'CREATE OR REPLACE TRIGGER {name} BEFORE {verb} ON "{table}" '
                "FOR EACH ROW EXECUTE FUNCTION tagstrip_refuse()")
    return (f'CREATE TRIGGER IF NOT EXISTS {name} BEFORE {verb} ON "{table}" BEGIN '
            f"SELECT RAISE(ABORT, '{verb} on {table} is refused: entries are corrected by later ones'); END")


def _name(verb: str, table: str) -> str:
    return f"no_{verb.lower()}_{table}"
