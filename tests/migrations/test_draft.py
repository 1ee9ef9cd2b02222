"""A migration is drafted from changed models, and runs on a shop that has rows: a new column, a new word, a changed CHECK."""

from __future__ import annotations

import enum
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate, tables
from app.db import Base, database, default_in_store, make_engine, session, transaction, words
from app.errors import BadInput, Unavailable
from migrations.draft import draft, draft_from
from tests import factories
from tests.migrations.conftest import forget
from tests.migrations.shape import differences, shape

Drafted = Callable[..., Path]


class Covering(enum.StrEnum):
    TOLEX = "cloth"
    WOOD = "bare wood"


class MoreClasses(enum.StrEnum):
    """The protection classes of IEC 61140, one more than the models know."""

    CLASS_0 = "0"
    CLASS_I = "I"
    CLASS_II = "II"
    UNKNOWN = "not known yet"


@pytest.fixture
def models(monkeypatch: pytest.MonkeyPatch) -> sa.MetaData:
    """The models as the next version might have them: the amp's table is told anew by each test."""
    copied = sa.MetaData(naming_convention=Base.metadata.naming_convention)
    for table in Base.metadata.sorted_tables:
        table.to_metadata(copied)
    monkeypatch.setattr(tables, "metadata", copied)
    return copied


def retell(models: sa.MetaData, name: str, *more: sa.Column[Any] | sa.Constraint, kinds: dict[str, sa.Enum] | None = None,
           but: str = "") -> None:
    """One table with other kinds of columns, with more columns and constraints, and without the CHECK `but`."""
    before = Base.metadata.tables[name]
    kept = [sa.CheckConstraint(str(constraint.sqltext), name=constraint.name) for constraint in before.constraints
            if isinstance(constraint, sa.CheckConstraint) and not constraint._type_bound and constraint.name != but]
    models.remove(models.tables[name])
    told = sa.Table(name, models, *(_column(one, kinds or {}) for one in before.columns), *kept, *more)
    for column in told.columns:
        default_in_store(column)


def _column(column: sa.Column[Any], kinds: dict[str, sa.Enum]) -> sa.Column[Any]:
    given: dict[str, Any] = {} if column.default is None else {"default": column.default.arg}
    return sa.Column(column.name, kinds.get(column.name, column.type.copy() if isinstance(column.type, sa.Enum) else column.type),
                     primary_key=column.primary_key, nullable=column.nullable, index=column.index, **given)


@pytest.fixture
def drafted(folder: Path, sqlite_templates: tuple[Path, Path, object]) -> Iterator[Drafted]:
    """Drafts from a database that is at the newest schema already."""
    engine = make_engine(f"sqlite:///{sqlite_templates[0]}")

    def write(message: str, fill: Sequence[str] = ()) -> Path:
        written = draft_from(engine, message, fill)
        forget()
        return written

    yield write
    engine.dispose()


def fill() -> None:
    with transaction():
        factories.order()


def amp() -> Any:
    found = session().execute(sa.text("SELECT * FROM amp")).one()
    session().rollback()
    return found


def test_a_new_column_and_a_new_word_reach_a_filled_shop(context: Flask, drafted: Drafted, models: sa.MetaData,
                                                         empty: sa.Engine) -> None:
    fill()
    retell(models, "amp", sa.Column("wheeled", sa.Boolean, nullable=False, default=False),
           sa.Column("handles", sa.Integer, nullable=False, default=1),
           sa.Column("covered", words(Covering), nullable=False, default=Covering.TOLEX),
           sa.Column("colour", sa.Text, nullable=False, default="it's not told"),
           sa.Column("weight_kg", sa.Double, nullable=True), kinds={"protection_class": words(MoreClasses, "protectionclass")})
    before = amp()
    drafted("Tell more of the amp")
    assert migrate.upgrade(database().engine)
    after = amp()
    assert before._mapping.items() <= after._mapping.items()
    assert (after.wheeled, after.handles, after.covered, after.colour, after.weight_kg) == (0, 1, "cloth", "it's not told", None)
    with transaction() as current:
        current.execute(sa.text("UPDATE amp SET protection_class = '0', covered = 'bare wood'"))
    for spoiled in ("protection_class = 'III'", "covered = 'tartan'"):
        with pytest.raises(sa.exc.IntegrityError), transaction() as current:
            current.execute(sa.text(f"UPDATE amp SET {spoiled}"))
    models.create_all(empty)
    assert differences(shape(database().engine), shape(empty)) == []


def test_a_changed_check_is_seen_and_held(context: Flask, drafted: Drafted, models: sa.MetaData, empty: sa.Engine) -> None:
    fill()
    retell(models, "customer", sa.CheckConstraint("length(name) > 1", name="has_name"), but="ck_customer_has_name")
    drafted("Ask for two letters of a name")
    migrate.upgrade(database().engine)
    with pytest.raises(sa.exc.IntegrityError, match="ck_customer_has_name"), transaction() as current:
        current.execute(sa.text("UPDATE customer SET name = 'W'"))
    models.create_all(empty)
    assert differences(shape(database().engine), shape(empty)) == []


def test_a_draft_without_a_change_is_empty(folder: Path) -> None:
    written = draft("Nothing").read_text(encoding="utf-8")
    body = written.partition("def upgrade() -> None:\n")[2].splitlines()
    assert [line.strip() for line in body if line.strip() and not line.strip().startswith("#")] == ["pass"]


def test_another_default_is_seen(context: Flask, drafted: Drafted, models: sa.MetaData, empty: sa.Engine) -> None:
    fill()
    models.tables["customer"].c.note.server_default = sa.DefaultClause("it's nothing")
    models.tables["customer"].c.version.server_default = None
    drafted("Say it's nothing")
    migrate.upgrade(database().engine)
    models.create_all(empty)
    assert differences(shape(database().engine), shape(empty)) == []


@pytest.mark.parametrize("column", [sa.Column("owner_says", sa.Text, nullable=False),
                                    sa.Column("bought_at", sa.Text, nullable=False, default=lambda: "now")])
def test_what_no_old_row_can_answer_is_refused(folder: Path, drafted: Drafted, models: sa.MetaData, column: sa.Column[Any]) -> None:
    there = sorted(folder.rglob("*.py"))
    retell(models, "amp", column)
    with pytest.raises(BadInput, match=rf"amp\.{column.name} .*default.*--fill amp\.{column.name}"):
        drafted("Ask the owner")
    assert sorted(folder.rglob("*.py")) == there


def test_an_old_column_that_may_be_empty_does_not_become_never_empty_unseen(drafted: Drafted, models: sa.MetaData) -> None:
    retell(models, "instrument")
    models.tables["instrument"].c.due_on.nullable = False
    with pytest.raises(BadInput, match=r"--fill instrument\.due_on"):
        drafted("Every instrument is due one day")


def test_a_column_filled_from_old_rows(context: Flask, drafted: Drafted, models: sa.MetaData, empty: sa.Engine) -> None:
    """Drafted empty, filled by hand, then never empty; what is left unfilled refuses the migration and undoes it."""
    fill()
    retell(models, "amp", sa.Column("brought_by_id", sa.Integer, sa.ForeignKey("customer.id"), nullable=False),
           sa.CheckConstraint("brought_by_id > 0", name="brought_by_somebody"))
    path = drafted("Enter who brought the amp", fill=["amp.brought_by_id"])
    before = migrate.revision_of(database().engine)
    with pytest.raises(Unavailable, match=r"1 row of amp .* brought_by_id"):
        migrate.upgrade(database().engine)
    assert migrate.revision_of(database().engine) == before and "brought_by_id" not in amp()._mapping
    told = path.read_text(encoding="utf-8")
    by_hand = 'op.execute(sa.text("UPDATE amp SET brought_by_id = (SELECT min(id) FROM customer)"))\n    '
    path.write_text(told.replace("steps.never_empty", by_hand + "steps.never_empty", 1), encoding="utf-8")
    assert migrate.upgrade(database().engine)
    assert amp().brought_by_id == session().execute(sa.text("SELECT min(id) FROM customer")).scalar()
    session().rollback()
    with pytest.raises(sa.exc.IntegrityError), transaction() as current:
        current.execute(sa.text("UPDATE amp SET brought_by_id = 4711"))
    models.create_all(empty)
    assert differences(shape(database().engine), shape(empty)) == []


def test_fill_names_a_column_that_is_new(drafted: Drafted) -> None:
    with pytest.raises(BadInput, match=r"amp\.colour"):
        drafted("Nothing", fill=["amp.colour"])


@pytest.mark.parametrize(("column", "expected"), [
    (sa.Column("a", sa.Text, nullable=False, default="it's"), "'it''s'"),
    (sa.Column("a", sa.Integer, nullable=False, default=3), "'3'"),
    (sa.Column("a", sa.Double, nullable=False, default=0.1), "'0.1'"),
    (sa.Column("a", sa.Boolean, nullable=False, default=True), "1"),
    (sa.Column("a", words(Covering), nullable=False, default=Covering.WOOD), "'bare wood'"),
    (sa.Column("a", sa.Text, nullable=True, default="x"), None),
    (sa.Column("a", sa.Text, nullable=False), None),
    (sa.Column("a", sa.Text, nullable=False, default="x", server_default="y"), "'y'"),
])
def test_the_default_in_the_database_is_the_one_in_the_model(column: sa.Column[Any], expected: str | None) -> None:
    default_in_store(column)
    made = str(sa.schema.CreateTable(sa.Table("t", sa.MetaData(), column)).compile(dialect=sa.create_engine("sqlite://").dialect))
    assert made.partition("DEFAULT ")[2].partition(" NOT NULL")[0].partition("\n")[0] == (expected or "")
