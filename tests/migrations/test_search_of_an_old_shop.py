"""A shop from before the search index: after the migration all of it is found, its checks stand, and its sign-ins may go."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from sqlalchemy.orm import Session

from app import migrate
from app.search import service
from app.search.models import Kind, SearchEntry

OLD = {
    "customer": {"id": 1, "name": "Wren Adler", "phone": "0491 570 156", "email": "", "address": "", "note": "", "find_text": "old",
                 "version": 1},
    "amp": {"id": 1, "maker": "Tarnholt", "model": "Meridian 30", "serial": "M30-0117", "mains_marking": "", "valves": "",
            "covering": "", "marks": "", "find_text": "old", "protection_class": "I", "version": 1},
    "repair_order": {"id": 1, "number": 1001, "amp_id": 1, "depositor_id": 1, "owner_id": 1, "authority_id": 1, "stage": "intake",
                     "shelf": "", "version": 1},
    "complaint": {"id": 1, "order_id": 1, "words": "Hums when warm", "connected": "", "how_long_on": "", "last_right": "",
                  "worked_on_by": "", "keep": "", "leave_alone": "", "by_name": "Mara", "version": 1},
}
WHEN = {"customer": "added_at", "amp": "added_at", "repair_order": "opened_at", "complaint": "at"}
MOMENT = "2026-03-02 09:30:00"


def before_the_index() -> str:
    """The revision that the search's migration comes after."""
    ours = next(migrate.MIGRATIONS.glob("versions/*_index_search_and_growing_tables.py")).name[:4]
    before = migrate._revisions()[ours]
    assert before is not None
    return before


def test_what_stood_there_is_found(empty: sa.Engine) -> None:
    migrate.upgrade(empty, to=before_the_index())
    with empty.connect().execution_options(writing=True) as connection, connection.begin():
        assert not sa.inspect(connection).has_table("search_entry")
        for table, row in OLD.items():
            given = {**row, WHEN[table]: MOMENT}
            places = ", ".join(f":{name}" for name in given)
            connection.execute(sa.text(f"INSERT INTO {table} ({', '.join(given)}) VALUES ({places})"), given)
    migrate.upgrade(empty)
    with Session(empty) as current:
        entries = {one.kind: one for one in current.scalars(sa.select(SearchEntry))}
        assert set(entries) == {Kind.ORDER, Kind.CUSTOMER, Kind.AMP} and list(service.differences(current)) == []
        assert "  hums  " in entries["order"].words and "  m300117  " in entries["amp"].words
        assert ["amp", "Tarnholt Meridian 30 M30-0117"] in entries["customer"].facts
    with empty.connect() as connection:
        columns = {one["name"] for table in ("customer", "amp") for one in sa.inspect(connection).get_columns(table)}
    assert "find_text" not in columns


def test_the_checks_and_triggers_of_the_tables_that_lost_a_column_stand(empty: sa.Engine) -> None:
    migrate.upgrade(empty)
    for statement, said in (("INSERT INTO customer (name, added_at) VALUES ('', '2026-03-02 09:30:00')", "(?i)check"),
                            ("INSERT INTO customer (name, added_at) VALUES ('Wren', '2026-03-02 09:30:00')", "(?i)check")):
        with pytest.raises(sa.exc.IntegrityError, match=said), empty.begin() as connection:
            connection.execute(sa.text(statement))
    with empty.begin() as connection:
        connection.execute(sa.text("INSERT INTO customer (name, phone, added_at) VALUES ('Wren', '1', '2026-03-02 09:30:00')"))
    with pytest.raises(sa.exc.DatabaseError, match="is refused"), empty.begin() as connection:
        connection.execute(sa.text("DELETE FROM customer"))
    with empty.begin() as connection:
        connection.execute(sa.text("DELETE FROM sign_in"))
        connection.execute(sa.text("DELETE FROM search_entry"))
