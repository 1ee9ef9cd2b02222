"""A shop whose database an older version wrote: who may carry it forward, when, after what, and what the others do with it."""

from __future__ import annotations

import errno
import re
import shutil
import tarfile
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest
import sqlalchemy as sa

from app import cli, migrate
from app.backup import archive, rows
from app.backup import backup as backing_up
from app.commands.opening import alone
from app.db import make_engine
from app.errors import BadInput, Unavailable
from app.photos.store import FolderStore
from app.turns import in_use, say_in_use, unused
from tests import postgres
from tests.commands.served import free_port, serving
from tests.faults.shop import Shop
from tests.migrations import old_shops
from tests.migrations.conftest import forget
from tests.migrations.old_shops import OldShop

OLDEST = old_shops.read(old_shops.kept()[0])
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def data(tmp_path: Path, oldest: sa.Engine, oldest_files: tuple[OldShop, Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the oldest shop; its database is `oldest`."""
    monkeypatch.setenv("TAGSTRIP_PHOTO_URL", oldest_files[1].as_uri())
    return settled(tmp_path / "shop", oldest, monkeypatch)


def settled(folder: Path, engine: sa.Engine, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder.mkdir()
    (folder / "tagstrip.db").touch()  # its place is looked for even where the address names another
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", engine.url.render_as_string(hide_password=False))
    return folder


ONE_ENGINE = pytest.mark.parametrize("engine_name", ["sqlite"])  # where the database has no part in it


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """One command in this process: exit code, what it said, what it complained of."""

    def command(*words: str) -> tuple[int, str, str]:
        code = cli.main(list(words))
        said = capsys.readouterr()
        return code, said.out, said.err

    return command


def values(engine: sa.Engine) -> dict[str, list[old_shops.Row]]:
    with engine.connect() as connection:
        return old_shops.taken(connection)


def test_it_is_carried_forward_once_and_kept_as_it_was(data: Path, oldest: sa.Engine, oldest_files: tuple[OldShop, Path],
                                                       run: Run) -> None:
    before = values(oldest)
    code, said, wrong = run("migrate", "--data", str(data))
    kept = data / f"before-{migrate.newest()}.tar"
    assert (code, wrong) == (0, "") and str(kept) in said and f"schema {migrate.newest()}" in said
    assert migrate.revision_of(oldest) == migrate.newest()
    manifest = archive.check(kept)
    assert manifest.revision == OLDEST.revision
    with tarfile.open(kept) as whole:
        names = whole.getnames()
    assert sum(name.startswith("files/") for name in names) == len(list(FolderStore(oldest_files[1]).all())) > 100
    assert sorted(name for name in names if name.startswith("tables/")) == sorted(
        f"tables/{name}.jsonl" for name in before if name not in rows.NOT_KEPT)
    assert run("migrate", "--data", str(data)) == (0, f"Already at schema {migrate.newest()}.\n", "")
    assert list(data.glob("before-*")) == [kept]


@ONE_ENGINE
def test_the_copy_may_be_kept_elsewhere(data: Path, tmp_path: Path, run: Run) -> None:
    place = tmp_path / "usb.tar"
    assert run("migrate", "--data", str(data), "--backup", str(place))[0] == 0
    assert archive.check(place).revision == OLDEST.revision and list(data.glob("before-*")) == []


@ONE_ENGINE
def test_a_second_try_keeps_a_second_copy(data: Path, run: Run) -> None:
    (data / f"before-{migrate.newest()}.tar").write_bytes(b"of a first try")
    assert run("migrate", "--data", str(data))[0] == 0
    assert (data / f"before-{migrate.newest()}.tar").read_bytes() == b"of a first try"
    assert archive.check(data / f"before-{migrate.newest()}-2.tar").revision == OLDEST.revision


@ONE_ENGINE
def test_no_rows_need_no_copy(tmp_path: Path, empty: sa.Engine, monkeypatch: pytest.MonkeyPatch, run: Run) -> None:
    migrate.upgrade(empty, to=OLDEST.revision)
    settled(tmp_path / "shop", empty, monkeypatch)
    assert run("migrate", "--data", str(tmp_path / "shop"))[0] == 0
    assert list((tmp_path / "shop").glob("before-*")) == [] and migrate.revision_of(empty) == migrate.newest()


@ONE_ENGINE
def test_without_a_copy_that_reads_back_nothing_is_carried(data: Path, oldest: sa.Engine, run: Run,
                                                           monkeypatch: pytest.MonkeyPatch) -> None:
    def unreadable(_path: Path) -> archive.Manifest:
        raise BadInput("files/ab in the backup is not what was written.")

    monkeypatch.setattr(backing_up.form, "check", unreadable)
    code, said, wrong = run("migrate", "--data", str(data))
    assert (code, said) == (1, "") and "is not what was written" in wrong and wrong.count("\n") == 1
    assert migrate.revision_of(oldest) == OLDEST.revision and list(data.glob("before-*")) == []


@ONE_ENGINE
def test_a_full_disk_is_said_with_the_way_out(data: Path, oldest: sa.Engine, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_given: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(backing_up.form.Writer, "add", full)
    code, said, wrong = run("migrate", "--data", str(data))
    assert (code, said) == (1, "") and "no room" in wrong and "--backup FILE" in wrong and wrong.count("\n") == 1
    assert migrate.revision_of(oldest) == OLDEST.revision and list(data.glob("before-*")) == []


BREAKS = '''
"""A migration that stops."""

from alembic import op

from app.errors import Unavailable

revision = "9999"
down_revision = "{before}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("UPDATE shop SET name = 'spoiled'")
    {stop}
'''


@pytest.mark.parametrize(("stop", "words"), [("raise Unavailable('One row would be lost.')", "One row would be lost."),
                                             ("op.execute('DROP TABLE nothing_of_that_name')", "nothing_of_that_name")])
def test_a_migration_that_stops_is_undone_and_says_where_the_copy_is(data: Path, oldest: sa.Engine, folder: Path, run: Run,
                                                                     stop: str, words: str) -> None:
    before = values(oldest)
    (folder / "versions" / "9999_stops.py").write_text(BREAKS.format(before=migrate.newest(), stop=stop))
    forget()
    code, said, wrong = run("migrate", "--data", str(data))
    assert (code, said) == (1, "") and words in wrong and "before-9999.tar" in wrong and "undone" in wrong
    assert wrong.count("\n") == 1
    assert migrate.revision_of(oldest) == OLDEST.revision and values(oldest) == before
    assert archive.check(data / "before-9999.tar").revision == OLDEST.revision


@ONE_ENGINE
def test_never_under_a_running_server(data: Path, oldest: sa.Engine, run: Run) -> None:
    with alone(data):
        code, _, wrong = run("migrate", "--data", str(data))
    assert code == 1 and "is in use by process" in wrong
    assert migrate.revision_of(oldest) == OLDEST.revision


@pytest.mark.parametrize("engine_name", ["postgresql"])
def test_nor_under_one_that_serves_the_same_postgresql_from_another_folder(
        data: Path, oldest: sa.Engine, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.turns.PATIENCE_SECONDS", 0.2)
    with in_use(oldest):
        code, said, wrong = run("migrate", "--data", str(data))
    assert (code, said) == (1, "") and "Another Tagstrip works on this database" in wrong
    assert migrate.revision_of(oldest) == OLDEST.revision and list(data.glob("before-*")) == []
    assert run("migrate", "--data", str(data))[0] == 0
    with in_use(oldest):
        assert run("migrate", "--data", str(data)) == (0, f"Already at schema {migrate.newest()}.\n", "")


@pytest.mark.parametrize("words", [("import", "customers.csv"), ("user", "add", "--name", "Ines", "--role", "owner")])
def test_who_writes_says_what_to_do_first(data: Path, oldest: sa.Engine, tmp_path: Path, run: Run, words: tuple[str, ...]) -> None:
    (tmp_path / "customers.csv").write_text("name,phone\nWren Adler,555 0199\n")
    before = values(oldest)
    given = [str(tmp_path / word) if word.endswith(".csv") else word for word in words]
    code, said, wrong = run(*given, "--data", str(data))
    assert (code, said) == (1, "") and wrong.count("\n") == 1
    assert f"schema {OLDEST.revision}" in wrong and f"./tagstrip migrate --data {data}" in wrong
    assert migrate.revision_of(oldest) == OLDEST.revision and values(oldest) == before


def test_who_reads_leaves_it_as_it_is(data: Path, oldest: sa.Engine, tmp_path: Path, run: Run,
                                      monkeypatch: pytest.MonkeyPatch) -> None:
    before = values(oldest)
    code, said, wrong = run("verify", "--data", str(data))
    assert (code, wrong) == (0, "") and "no mismatch found" in said and f"schema {OLDEST.revision}" in said
    code, said, wrong = run("export", str(tmp_path / "out"), "--data", str(data))
    assert (code, wrong) == (0, "") and "15 repair orders" in said
    assert run("backup", str(tmp_path / "kept.tar"), "--data", str(data))[0] == 0
    assert migrate.revision_of(oldest) == OLDEST.revision and values(oldest) == before
    opened = (tmp_path / "out" / "tables" / "repair_order.csv").read_text(encoding="utf-8")
    assert re.search(r"\d\d:\d\d:\d\d(\.\d+)?\+00:00", opened), "moments carry their zone"
    monkeypatch.delenv("TAGSTRIP_DATABASE_URL")
    assert run("restore", str(tmp_path / "kept.tar"), "--data", str(tmp_path / "again"))[0] == 0
    again = make_engine(f"sqlite:///{tmp_path / 'again' / 'tagstrip.db'}")
    assert migrate.revision_of(again) == migrate.newest()
    assert len(values(again)["journal_entry"]) == len(before["journal_entry"]) + 1  # its seal of what was carried forward
    again.dispose()


def test_what_the_older_one_lacks_is_no_trouble_to_who_reads(data: Path, oldest: sa.Engine, tmp_path: Path, run: Run) -> None:
    """As if a column, a table and a file's mark had come with this version only, and one had gone with it."""
    with oldest.connect().execution_options(writing=True) as connection, connection.begin():
        connection.execute(sa.text("ALTER TABLE amp DROP COLUMN covering"))
        connection.execute(sa.text("ALTER TABLE amp ADD COLUMN old_sha256 TEXT"))
        connection.execute(sa.text("DROP TABLE kept_sum"))
    code, said, wrong = run("verify", "--data", str(data))
    assert (code, wrong) == (0, "") and "amp.old_sha256" in said
    assert run("export", str(tmp_path / "out"), "--data", str(data))[0] == 0
    assert "old_sha256" in (tmp_path / "out" / "tables" / "amp.csv").read_text(encoding="utf-8")
    assert run("backup", str(tmp_path / "kept.tar"), "--data", str(data))[0] == 0
    with oldest.connect().execution_options(writing=True) as connection, connection.begin():
        connection.execute(sa.text("ALTER TABLE journal_entry DROP COLUMN device"))
    for words in (("verify",), ("export", str(tmp_path / "second"))):
        code, said, wrong = run(*words, "--data", str(data))
        assert code == 1 or "second" in said
    assert "./tagstrip migrate" in run("verify", "--data", str(data))[2]


@pytest.mark.parametrize("words", [("verify",), ("backup", "x.tar"), ("export", "x")])
def test_a_newer_or_an_empty_one_is_refused(data: Path, oldest: sa.Engine, tmp_path: Path, run: Run, words: tuple[str, ...],
                                            monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with oldest.connect().execution_options(writing=True) as connection, connection.begin():
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '9998'"))
    code, _, wrong = run(*words, "--data", str(data))
    assert code == 1 and "newer Tagstrip (schema 9998)" in wrong
    with oldest.connect().execution_options(writing=True) as connection, connection.begin():
        connection.execute(sa.text("DROP TABLE alembic_version"))
    code, _, wrong = run(*words, "--data", str(data))
    assert code == 1 and ("holds no shop yet" in wrong or "held a shop" in wrong) and wrong.count("\n") == 1


def test_serve_carries_it_forward_and_says_so(tmp_path: Path, oldest_sqlite: Path) -> None:
    data = tmp_path / "shop"
    data.mkdir()
    shutil.copy(oldest_sqlite, data / "tagstrip.db")
    port = free_port()
    with serving(data, port) as process:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=30) as answer:
            assert b'"migrations":"ok"' in answer.read().replace(b" ", b"")
        assert archive.check(data / f"before-{migrate.newest()}.tar").revision == OLDEST.revision
        assert process.stdout is not None and f"before-{migrate.newest()}.tar" in process.stdout.readline()


@pytest.mark.parametrize("engine_name", ["postgresql"])
def test_a_servers_connections_say_that_the_database_is_in_use(empty: sa.Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.turns.PATIENCE_SECONDS", 0.2)
    server = make_engine(empty.url.render_as_string(hide_password=False))
    sa.event.listen(server, "connect", say_in_use)
    with server.connect():
        pass  # back in the pool, and open
    with pytest.raises(Unavailable, match="Another Tagstrip"), unused(empty):
        pass
    server.dispose()
    with unused(empty), pytest.raises(Unavailable), unused(empty):  # and only one at a time changes it
        pass


def first_to_end(shops: list[Shop]) -> Shop:
    """The server that gave way to the other."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        for shop in shops:
            if shop.process is not None and shop.process.poll() is not None:
                return shop
        time.sleep(0.05)
    raise AssertionError("both serve one database")


@pytest.mark.fault
def test_of_two_first_starts_on_one_empty_postgresql_one_comes_up_and_one_is_refused(postgres_server: str, tmp_path: Path) -> None:
    for turn in range(2):
        name = f"first{turn}"
        postgres.command(postgres_server, f"CREATE DATABASE {name}")
        shops = [Shop(tmp_path / f"{turn}{which}", f"{postgres_server}/{name}") for which in "ab"]
        for shop in shops:
            shop.data.mkdir()
            shop.launch()
        try:
            ended = first_to_end(shops)
            ended.process = None
            assert "Another Tagstrip" in (ended.data / "server.log").read_text()
            next(shop for shop in shops if shop is not ended).wait()
            engine = make_engine(f"{postgres_server}/{name}")
            with pytest.raises(Unavailable, match="Another Tagstrip"), unused(engine):
                pass
        finally:
            for shop in shops:
                shop.kill()
        with unused(engine):
            assert migrate.revision_of(engine) == migrate.newest()
        engine.dispose()
        postgres.command(postgres_server, f"DROP DATABASE {name} WITH (FORCE)")
