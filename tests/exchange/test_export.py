from __future__ import annotations

import csv
import hashlib
import json
import re
from pathlib import Path

import pytest
from flask import Flask
from hypothesis import given
from hypothesis import strategies as st

from app.backup import rows
from app.db import Base, session, transaction
from app.errors import BadInput
from app.exchange import cells
from app.exchange import export_dictionary as described
from app.exchange.csv_import import plan
from app.exchange.export import export
from app.photos import service as photos
from app.photos.prepare import prepare
from app.records.models import Customer
from tests import factories
from tests.people import BY
from tests.photos.make import photo_bytes, upload

NOW = factories.NOW
NASTY = ["=1+1", "+61 2 5550 0101", "-5", "@sum", "\tx", "\rx", "'=quoted", "''", "plain", "", "a,b",
         'say "so"', "two\nlines", " pad "]


@pytest.mark.parametrize("text", NASTY)
def test_no_cell_begins_as_a_formula_and_each_comes_back(text: str) -> None:
    """OWASP ASVS 5.0, 1.2.10."""
    assert not re.match(r"[=+\-@\t\r\0]", cells.guard(text))
    assert cells.unguard(cells.guard(text)) == text


@given(st.lists(st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"])), min_size=2, max_size=4))
def test_any_text_survives_a_line(texts: list[str]) -> None:
    """The standard library's csv reads RFC 4180."""
    line = cells.line(texts)
    assert line.endswith("\r\n")
    (back,) = csv.reader([line], strict=True) if "\n" not in line[:-2] and "\r" not in line[:-2] else [texts]
    assert [cells.unguard(cell) for cell in back] == texts or back == texts


def test_numbers_are_not_spoiled() -> None:
    assert cells.line([-5, -0.25, None, "", True, {"a": 1}]) == '-5,-0.25,,"","yes","{""a"": 1}"\r\n'


def test_everything_is_written_and_fits_its_manifest(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = factories.order(customer=factories.customer("=Wren", phone="+61 2 5550 0199", address="-5 Lowgate"))
        number = order.number
    taken = photo_bytes(gps=True)
    picture = prepare(upload(taken))
    with transaction():
        photos.add(order, picture, place="front", by=BY, now=NOW)
    target = tmp_path / "out"
    made = export(target)
    assert (made.orders, made.files) == (1, 3)
    manifest = json.loads((target / "manifest.json").read_text())
    there = {path.relative_to(target).as_posix() for path in target.rglob("*") if path.is_file()} - {"manifest.json"}
    assert there == set(manifest["files"])
    for name, told in manifest["files"].items():
        assert hashlib.sha256((target / name).read_bytes()).hexdigest() == told["sha256"]
    assert {f"tables/{table.name}.csv" for table in rows.kept(Base.metadata)} <= there
    with (target / "tables/customer.csv").open(newline="", encoding="utf-8") as file:
        (customer,) = csv.DictReader(file, strict=True)
    assert (customer["name"], customer["phone"], customer["address"]) == ("'=Wren", "'+61 2 5550 0199", "'-5 Lowgate")
    assert "password_hash" not in (target / "tables/person.csv").read_text()
    told = json.loads((target / f"orders/{number}.json").read_text())
    assert told["people"]["owner"]["name"] == "=Wren" and told["amp"]["model"] == "Meridian 30"
    (photo,) = told["records"]["photo"]
    assert (target / photo["file"]).read_bytes() == taken
    assert any(entry["event"] == "order:opened" for entry in told["records"]["journal_entry"])
    with pytest.raises(BadInput, match="not empty"):
        export(target)
    session().rollback()
    again = plan("customer.csv", (target / "tables/customer.csv").read_bytes())
    assert (again.what, again.known, again.new, again.wrong) == ("customers", 1, [], [])
    assert session().query(Customer).count() == 1


def test_every_column_is_described() -> None:
    readme = described.tables(rows.kept(Base.metadata))
    assert "  estimated_hours: hours\n" not in readme and "  x: x (number, in the unit its name tells" in readme
    for table in rows.kept(Base.metadata):
        for column in table.columns:
            assert re.search(rf"^  {column.name}: \S", readme, re.M), (table.name, column.name)
