"""Weeping wire goes by colour and run, and by what shares its terminals. Common practice, no source."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from app.findings.rules.wires import Wire, covered


def wire(id: int, colour: str, run: str, ends: str, weeps: bool = False) -> Wire:
    return Wire(id, colour, run, frozenset(ends.split()), weeps)


def test_one_weeping_wire_takes_its_reel_and_its_neighbours() -> None:
    wires = [
        wire(1, "Yellow", "back loom", "V3-2 tag9", weeps=True),
        wire(2, "yellow", "Back  loom", "V4-2 tag10"),  # same reel, dry
        wire(3, "yellow", "front loom", "V1-2 tag1"),  # same colour, another run
        wire(4, "black", "back loom", "tag9 star"),  # shares tag 9 with a weeping one
        wire(5, "red", "front loom", "star tag2"),  # shares only with a neighbour's neighbour
    ]
    found = covered(wires)
    assert set(found) == {1, 2, 4}
    assert found[2] == "same yellow wire in the same run" and found[4] == "shares tag9"


WIRES = st.lists(st.tuples(st.sampled_from("ABC"), st.sampled_from("xy"), st.sampled_from("pqrs"), st.sampled_from("pqrs"),
                           st.booleans()), max_size=8)


@given(WIRES)
def test_whoever_weeps_goes_and_nothing_goes_without_one(rows: list[tuple[str, str, str, str, bool]]) -> None:
    wires = [Wire(n, c, r, frozenset({a, b}), w) for n, (c, r, a, b, w) in enumerate(rows)]
    found = covered(wires)
    assert {one.id for one in wires if one.weeps} <= set(found)
    assert bool(found) == any(one.weeps for one in wires)
    reels = {(one.colour, one.run) for one in wires if one.weeps}
    assert all(one.id in found for one in wires if (one.colour, one.run) in reels)
