"""Whatever comes off an amp is weighed by some count on its way back: random strip-downs, those that let a piece through first."""

from __future__ import annotations

import random

import pytest
from flask import Flask

from app.db import transaction
from app.errors import BadInput
from app.orders.models import RepairOrder
from app.reassembly.queries.due import closing
from app.reassembly.queries.way import ReassemblyState, way_back
from app.reassembly.queries.work import need_not_be_back, scope_of
from app.reassembly.rules import COUNTED
from app.reassembly.service.counts import asks_for_pieces
from app.removals import queries as removals
from app.removals.rules import Kind, WireEnd
from tests import factories
from tests.removals import make

KINDS = (Kind.PART, Kind.CHOKE, Kind.OUTPUT_TRANSFORMER, Kind.WIRE, Kind.TAG_BOARD, Kind.COVER, Kind.SPEAKER, Kind.VALVE_BASE,
         Kind.VALVE, Kind.SCREENING_BOX, Kind.BOLT, Kind.CHASSIS, Kind.JACK, Kind.MAINS_TRANSFORMER, Kind.FUSE, Kind.WOOD_SCREW,
         Kind.STANDOFF, Kind.INLET)
ENDED = (Kind.WIRE, Kind.CHOKE, Kind.OUTPUT_TRANSFORMER, Kind.PART)
# A piece of no sub-assembly in a space that nothing closes; one that goes back after the count of its own space.
LET_THROUGH = (7, 22, 25)


def strip_down(order: RepairOrder, chance: random.Random) -> None:
    """Two to eight things with two screws each, in whatever spaces, units and on whatever hosts there are by then."""
    marks: list[str] = []
    for at in range(chance.randint(2, 8)):
        kind = chance.choice(KINDS)
        cavity = chance.choice(["", "chassis", "chassis", "cabinet"] + [f"under {mark}" for mark in marks])
        closes = chance.choice(["", "chassis", "cabinet", ""]) if kind in (Kind.COVER, Kind.CHASSIS) else ""
        ends = tuple(WireEnd(str(pin), host=chance.choice([*marks, "board 9"]))
                     for pin in range(chance.choice([0, 1, 2]))) if kind in ENDED else ()
        fixed = chance.choice([*marks, ""]) if kind in (Kind.PART, Kind.BOLT, Kind.VALVE) and marks else ""
        if kind is Kind.WIRE and not ends:
            ends = (WireEnd("1", host="board 9"),)
        try:
            make.removal(order, f"M{at}", kind=kind, name=f"thing {at}", fasteners={f"screw{at}": 2}, cavity=cavity, closes=closes,
                         ends=ends, fixed_to=fixed, unit=chance.choice(["", "", "lid unit"]), stack=(), stays_on_loom=False)
        except BadInput:
            continue  # what the form would have refused
        marks.append(f"M{at}")


def never_weighed(order: RepairOrder, way: ReassemblyState) -> list[str]:
    """Marks whose pieces no count asks for, in the tray or in the bag of what closes after it."""
    counts = [name for name, (what, _) in way.origins.items() if what in COUNTED and asks_for_pieces(way, name)]
    lines = [line.removal for line in removals.lines(order) if line.removal.fate.goes_back and sum(line.pieces.values())]
    return [one.mark for one in lines
            if not any(one in closing(way, count) or (one.mark not in need_not_be_back(way, count)
                                                      and scope_of(way, count).holds(one.unit, one.cavity)) for count in counts)]


@pytest.mark.parametrize("seed", [*LET_THROUGH, *range(100, 120)])
def test_no_piece_goes_back_unweighed(context: Flask, seed: int) -> None:
    with transaction():
        order = factories.order()
        strip_down(order, random.Random(seed))
        way = way_back(order)
        assert way.problem or never_weighed(order, way) == []
