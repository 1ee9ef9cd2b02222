"""Classes of hardware in the database: made once where they are first counted, journalled, never changed."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput
from app.hardware import queries
from app.hardware.models import HardwareClass
from app.hardware.service import class_of
from app.journal import queries as journal
from tests.factories import NOW
from tests.people import BY

WHEN = {"by": BY, "now": NOW}


def test_a_class_is_made_where_it_is_first_counted_and_once(context: Flask) -> None:
    with transaction():
        made = class_of("screw m4x16 pan", **WHEN)
        assert class_of("M4 × 16 screw pan", **WHEN) is made and class_of("screw M4 × 30", **WHEN) is not made
        with pytest.raises(BadInput, match="what kind of piece"):
            class_of(" ", **WHEN)
    assert (made.kind, made.thread, made.length, made.head, made.finish) == ("screw", "M4", "16", "pan", "")
    assert len(journal.of_record("hardware_class", made.id)) == 1


def test_a_class_of_before_keeps_its_name(context: Flask) -> None:
    """A shop that counted "m3 screw" goes on with that class: its old counts and its new ones are one."""
    with transaction():
        session().add(HardwareClass(kind="m3 screw", label="m3 screw", made_at=NOW, made_by="Tagstrip"))
        session().flush()
        assert class_of("M3  Screw", **WHEN).kind == "m3 screw" and queries.label_of("M3 screw") == "m3 screw"


def test_the_sizes_of_the_shop_come_first(context: Flask) -> None:
    with transaction():
        for typed in ("nut", "screw M7 × 99", "bolt M7 × 99 hex", "screw 12-24 × 5/8 in"):
            class_of(typed, **WHEN)
    assert [one.label for one in queries.recent()] == ["screw 12-24 × 5/8 in", "bolt M7 × 99 hex", "screw M7 × 99"]
    assert queries.sizes()[:3] == ["12-24 × 5/8 in", "M7 × 99", "M3 × 6"]


def test_the_database_holds_one_of_each_and_changes_none(context: Flask) -> None:
    with transaction():
        class_of("screw M4", **WHEN)
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().add(HardwareClass(kind="screw", thread="M4", label="other words", made_at=NOW, made_by="x"))
        session().flush()
    with pytest.raises(sa.exc.DatabaseError, match="is refused"), transaction():
        session().execute(sa.text("UPDATE hardware_class SET length = '30'"))
