"""`migrate --search`: the index made anew from the records, saying how much of it was wrong."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from app import migrate
from app.db import make_engine
from tests.commands.served import command


def test_the_index_is_made_anew_and_what_was_wrong_is_counted(tmp_path: Path) -> None:
    data, sheet = tmp_path / "shop", tmp_path / "customers.csv"
    sheet.write_text("name,phone\nWren Adler,0491 570 156\nBode Marsh,0491 570 110\n", encoding="utf-8")
    data.mkdir()
    engine = make_engine(f"sqlite:///{data / 'tagstrip.db'}")
    migrate.upgrade(engine)
    engine.dispose()
    brought = command("import", str(sheet), "--what", "customers", "--data", str(data))
    assert brought.returncode == 0, brought.stderr
    assert command("verify", "--data", str(data)).returncode == 0
    with closing(sqlite3.connect(data / "tagstrip.db")) as database, database:
        assert database.execute("SELECT count(*) FROM search_entry").fetchone() == (2,)
        database.execute("UPDATE search_entry SET words = '' WHERE title = 'Wren Adler'")
    verified = command("verify", "--data", str(data))
    assert verified.returncode == 1 and "customer 1 is out of step (migrate --search rebuilds it)" in verified.stdout
    again = command("migrate", "--search", "--data", str(data))
    assert "Search index rebuilt: 1 entry was not as the records say." in again.stdout, again.stderr
    assert command("verify", "--data", str(data)).returncode == 0
