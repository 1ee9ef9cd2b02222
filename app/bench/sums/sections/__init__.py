"""The sums, by matter. A new sum is an entry in one of these files: nothing else has to change."""

from __future__ import annotations

from app.bench.sums.kinds import Sum
from app.bench.sums.sections import bias, capacitors, grids, output, resistors, safety, stage, supply, transformer, windings

MATTERS: tuple[tuple[str, tuple[Sum, ...]], ...] = tuple(
    (room.MATTER, room.SUMS) for room in (supply, bias, stage, grids, output, transformer, windings, safety, capacitors,
                                                resistors))
SUMS: dict[str, Sum] = {one.key: one for _, sums in MATTERS for one in sums}
