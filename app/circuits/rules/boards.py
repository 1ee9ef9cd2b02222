"""What the board sheets know of a sheet's parts: a reading out of circuit goes before what is typed. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from app.circuits.rules.blocks import Block, Given, Sheet, field_of
from app.electrics import show

LEAST_TOLERANCE = 0.005  # of a part that was measured: its meter, and how far it warms


@dataclass(frozen=True)
class Place:
    """One position of a board: its value as marked and as read out of circuit, in `unit`; percent: its meter's accuracy."""

    board: str
    reference: str
    unit: str
    nominal: float | None
    measured: float | None
    tolerance: float | None
    replaced: bool
    percent: float


def with_boards(sheet: Sheet, places: Iterable[Place]) -> Sheet:
    """The sheet with each part's value as its position has it.

    A reading out of circuit wins; of a part that is replaced the marked value of its place counts. In circuit other paths lie
    across a part, so such a reading never becomes its value. A position that two boards have is taken by "board R6" alone.
    """
    by_name: dict[str, list[Place]] = {}
    for place in places:
        for name in {_plain(place.reference), _plain(f"{place.board} {place.reference}")}:
            by_name.setdefault(name, []).append(place)
    return replace(sheet, blocks=tuple(_block(block, by_name) for block in sheet.blocks))


def _block(block: Block, by_name: dict[str, list[Place]]) -> Block:
    for name, given in block.given:
        found = by_name.get(_plain(given.reference), []) if given.reference else []
        if len(found) == 1 and found[0].unit == field_of(block.kind, name).unit:
            block = block.with_given(name, _given(given, found[0]))
        elif len(found) > 1:
            several = f"typed; {given.reference} is on several boards: enter board and place"
            block = block.with_given(name, replace(given, origin=several))
    return block


def _given(given: Given, place: Place) -> Given:
    where = f"{place.board} {place.reference}"
    if place.measured is not None and place.measured > 0 and not place.replaced:
        typed = "" if given.number is None else f", typed {show(given.number, digits=4).strip()}"
        return replace(given, number=place.measured, tolerance=max(LEAST_TOLERANCE, place.percent / 100),
                       origin=f"measured, {where}{typed}")
    if given.number is None and place.nominal:
        return replace(given, number=place.nominal, tolerance=given.tolerance or place.tolerance,
                       origin=f"{'new part' if place.replaced else 'as marked'}, {where}")
    return given


def _plain(text: str) -> str:
    return " ".join(text.lower().split())
