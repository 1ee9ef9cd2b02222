"""The app under a PostgreSQL role that owns nothing, with the grants of README.md, statement by statement."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import create_app
from app.backup.backup import backup
from app.backup.verify import verify
from app.commands.upgrading import brought_up_to_date
from app.db import database, make_engine, session, transaction
from tests import factories
from tests.conftest import configure
from tests.pages import PageClient
from tests.people import Cast

README = Path(__file__).resolve().parents[2] / "README.md"
REFUSED = ("DROP TRIGGER no_delete_customer ON customer", "ALTER TABLE customer DISABLE TRIGGER no_delete_customer",
           "ALTER TABLE customer DISABLE TRIGGER ALL", "DROP TABLE journal_entry CASCADE", "TRUNCATE journal_entry",
           "TRUNCATE customer CASCADE",
           "DELETE FROM journal_entry", "UPDATE journal_entry SET reason = ''", "UPDATE alembic_version SET version_num = '0001'",
           "CREATE OR REPLACE FUNCTION tagstrip_refuse() RETURNS trigger AS $$ BEGIN RETURN OLD; END $$ LANGUAGE plpgsql",
           "CREATE RULE quiet AS ON UPDATE TO customer DO INSTEAD NOTHING", "SET session_replication_role = replica",
           "CREATE TRIGGER helper BEFORE INSERT ON customer FOR EACH ROW EXECUTE FUNCTION tagstrip_refuse()",
           "ALTER TABLE customer OWNER TO shop_app", "DELETE FROM customer")


def statements() -> list[str]:
    block = re.search(r"```sql\n(.*?)```", README.read_text(encoding="utf-8"), re.S)
    assert block is not None
    return [line.split(";")[0] for line in block[1].splitlines() if line.strip()]


@pytest.fixture
def served_by_role(engine_name: str, app: Flask, furnished_url: str, tmp_path: Path) -> Iterator[Flask]:
    """The shop, opened as shop_app."""
    engine = make_engine(furnished_url)
    with engine.connect() as connection, connection.begin():
        for one in statements():
            connection.execute(sa.text(one))
    url = re.sub(r"//[^@]*@", "//shop_app@", furnished_url)
    other = create_app(configure(tmp_path, url))
    with closing(other.extensions["tagstrip_db"]):
        yield other
    with engine.connect() as connection, connection.begin():
        for role in ("shop_app", "shop_owner"):
            connection.execute(sa.text(f"DROP OWNED BY {role}"))
            connection.execute(sa.text(f"DROP ROLE {role}"))
    engine.dispose()


@pytest.mark.parametrize("engine_name", ["postgresql"])
def test_the_app_works_under_it_and_nothing_that_guards_can_be_taken_off(
        served_by_role: Flask, cast: Cast, tmp_path: Path) -> None:
    with served_by_role.app_context():
        with transaction():
            factories.order()
        assert session().scalar(sa.text("SELECT current_user")) == "shop_app"
        assert verify().troubles == ()
        session().rollback()
        backup(tmp_path / "kept.tar")
        for words in REFUSED:
            with pytest.raises(sa.exc.DBAPIError, match="must be owner|permission denied|is refused|must be able to SET"), \
                    database().engine.connect() as raw, raw.begin():
                raw.execute(sa.text(words))
        assert verify().troubles == ()
        session().rollback()
    owner = PageClient(served_by_role).sign_in(cast.owner)
    for page in ("/", "/shop", "/people", "/search?q=meridian"):
        assert owner.get(page).status == 200, page


@pytest.mark.parametrize("engine_name", ["postgresql"])
def test_it_can_start_on_a_database_that_is_up_to_date(served_by_role: Flask, furnished_url: str, tmp_path: Path) -> None:
    with brought_up_to_date(configure(tmp_path, re.sub(r"//[^@]*@", "//shop_app@", furnished_url))) as standing:
        assert not standing.changed
