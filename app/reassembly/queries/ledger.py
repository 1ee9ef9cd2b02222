"""The removal ledger of an order as the planner reads it."""

from __future__ import annotations

from collections.abc import Sequence

from app.reassembly import planner
from app.removals.models import Removal
from app.removals.rules import METAL
from app.removals.stacks import unambiguous_names


def to_planner(standing: Sequence[Removal]) -> list[planner.Removal]:
    """The ledger as the planner reads it: marks are ids; a stack piece or host named like a removal is that removal."""
    known = unambiguous_names((one.name, one.mark) for one in standing) | {one.mark.lower(): one.mark for one in standing}

    def resolve(name: str, own: str) -> str:
        found = known.get(name.lower(), name)
        return name if found == own or name.lower() in METAL else found

    return [planner.Removal(
        one.mark, label=one.title, kind=one.kind.value, seq=one.number, side=one.side.value if one.side else None,
        place=one.place or None, unit=one.unit or None, under=tuple(one.under),
        on=(one.held_by.mark if one.held_by else one.fixed_to) or None, also_on=tuple(each.mark for each in one.holders[1:]),
        stack=tuple(resolve(piece, one.mark) for piece in one.stack), times=one.stack_times,
        others=tuple(planner.Stack(tuple(resolve(piece, one.mark) for piece in stack.pieces), stack.times)
                     for stack in one.stacks[bool(one.stack):]),
        cavity=one.cavity, closes=one.closes,
        fasteners=one.fasteners, ends=tuple(f"{resolve(end.host, one.mark)}:{end.pin}" if end.host else end.pin
                                            for end in one.wire_ends),
        fate=one.fate.value, keyed=one.keyed, orientation=one.orientation, stays_on_loom=one.stays_on_loom,
        minutes=one.minutes, unattended_minutes=one.unattended_minutes, lifted=tuple(end.lifted for end in one.wire_ends),
        hidden=tuple(end.hidden for end in one.wire_ends), classes=tuple(end.carries for end in one.wire_ends))
        for one in standing]
