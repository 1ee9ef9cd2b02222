"""Weeping wire: which wires go with the ones that weep. Common practice, no source. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Wire:
    """One wire: its colour, the run it lies in and the terminals at its ends."""

    id: int
    colour: str
    run: str
    ends: frozenset[str]
    weeps: bool = False


def covered(wires: Iterable[Wire]) -> dict[int, str]:
    """Each wire that is replaced, with the reason.

    Wire of one colour in one run is of one reel, so it goes together; what a wire that goes shares a terminal with
    has had the residue creep into it and goes too. That second step is taken once: residue stops at the next joint.
    """
    rows = list(wires)
    reels = {_reel(wire) for wire in rows if wire.weeps}
    found = {wire.id: "weeps" if wire.weeps else f"same {wire.colour} wire in the same run"
             for wire in rows if _reel(wire) in reels}
    soaked = {end for wire in rows if wire.id in found for end in wire.ends}
    for wire in rows:
        shared = sorted(wire.ends & soaked)
        if wire.id not in found and shared:
            found[wire.id] = f"shares {shared[0]}"
    return found


def _reel(wire: Wire) -> tuple[str, str]:
    return _plain(wire.colour), _plain(wire.run)


def _plain(text: str) -> str:
    return " ".join(text.lower().split())
