"""A part's place is typed as words; beside them the key of the record that they name is stored. Common practice, no source."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.boards.rules import BoardKind
from app.boards.rules import PartKind as OnBoard
from app.boards.service import record_board, record_position
from app.boards.spec import BoardFacts, PositionFacts
from app.db import session, transaction
from app.errors import BadInput
from app.orders.models import RepairOrder
from app.parts import service
from app.parts.models import Part
from app.reassembly.queries.way import way_back
from app.removals.rules import Kind
from app.removals.service.outcome import strike_removal
from tests import factories
from tests.factories import NOW
from tests.findings.make import finding
from tests.pages import PageClient
from tests.parts import make
from tests.people import BY
from tests.removals.make import removal

WHEN = {"by": BY, "now": NOW}


def sheets(order: RepairOrder, *names: str) -> list[int]:
    """Boards with a C2 each; the ids of the positions."""
    made = []
    for name in names:
        board = record_board(order, BoardFacts(name, BoardKind.TAG), **WHEN)
        session().flush()
        made.append(record_position(board, order, PositionFacts("C2", OnBoard.CAPACITOR), **WHEN))
        session().flush()
    return [one.id for one in made]


def keys(part: Part) -> tuple[int | None, int | None, int | None]:
    return part.removal_id, part.board_position_id, part.finding_id


def test_a_place_is_matched_by_tag_name_reference_or_number(context: Flask) -> None:
    with transaction():
        order = factories.order()
        dropper = removal(order, "R6", name="dropper resistor", kind=Kind.PART, stack=())
        seen = finding(order)
        (position,) = sheets(order, "main board")
        assert keys(make.part(order, place="r6")) == keys(make.part(order, place=" Dropper resistor ")) == (dropper.id, None, None)
        assert keys(make.part(order, place="C2")) == keys(make.part(order, place="main board c2")) == (None, position, None)
        assert keys(make.part(order, place="finding 1")) == (None, None, seen.id)
        free = make.part(order, place="mains inlet")
        assert keys(free) == (None, None, None) and free.place == "mains inlet"


def test_a_place_that_could_be_two_is_asked_back(context: Flask) -> None:
    with transaction():
        order = factories.order()
        _, second = sheets(order, "main board", "bias board")
        with pytest.raises(BadInput, match="C2 .* several places. .* main board C2 or bias board C2") as refused:
            make.part(order, place="C2")
        assert refused.value.field == "place"
        part = make.part(order, place="bias board C2")
        assert part.board_position_id == second
        service.change(order, part, make.need(place="V3"), None, **WHEN)
        assert keys(part) == (None, None, None)


def test_a_place_that_comes_off_after_its_part_was_needed_waits_for_it(context: Flask) -> None:
    with transaction():
        order = factories.order()
        (position,) = sheets(order, "main board")
        part, other = make.part(order, place="C2"), make.part(order, place="choke")
        assert keys(part) == (None, position, None)
        came = removal(order, "C2", name="supply capacitor", kind=Kind.PART, stack=())
        session().flush()
        assert keys(part) == (came.id, None, None) and keys(other) == (None, None, None)
        assert [one.id for one in way_back(order).awaits("C2")] == [part.id]
        strike_removal(came, order, reason="wrong amp", **WHEN)
        again = removal(order, "C2b", name="C2", kind=Kind.PART, stack=())
        assert keys(part) == (again.id, None, None)


def test_a_part_has_one_place(context: Flask) -> None:
    with transaction():
        order = factories.order()
        removal(order, "R6")
        finding(order)
        make.part(order, place="R6")
    with pytest.raises(sa.exc.IntegrityError, match="one_place"), transaction():
        session().connection().execute(sa.update(Part).values(finding_id=1))


def test_the_form_offers_what_came_off_and_what_is_on_a_sheet(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        removal(order, "R6", name="dropper")
        sheets(order, "main board")
        order_id = order.id
    page = technician.get(f"/orders/{order_id}/parts/new")
    (places,) = [one for one in page.all("datalist") if one.get("id") == "places"]
    assert [one.get("value") for one in places] == ["dropper R6", "main board C2"]
