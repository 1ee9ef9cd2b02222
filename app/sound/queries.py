"""Reading recordings back, and the two of each kind that stand side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import session
from app.measuring.rules import Phase
from app.orders.models import RepairOrder
from app.sound.drawing import SoundChart, draw
from app.sound.models import Recording
from app.sound.rules import Figure, SoundKind


def find(recording_id: int) -> Recording | None:
    """The recording with this id, struck out or not."""
    return session().get(Recording, recording_id)


def of_order(order: RepairOrder) -> Sequence[Recording]:
    """Every recording of an order, newest first, those that were struck out too."""
    return session().scalars(sa.select(Recording).where(Recording.order_id == order.id).order_by(Recording.id.desc())).all()


@dataclass(frozen=True)
class Row:
    """One figure as found and as left; `change` in words where both are of one unit."""

    name: str
    found: Figure | None
    left: Figure | None

    @property
    def change(self) -> str:
        if self.found is None or self.left is None or self.found.unit != self.left.unit:
            return ""
        by = self.left.value - self.found.value
        if self.found.unit.startswith("dB"):
            return f"{by:+.1f} dB".replace("-", "−")
        return f"{100 * by / self.found.value:+.2g} %".replace("-", "−") if self.found.value and self.found.unit != "%" else \
            f"{by:+.2g} points".replace("-", "−")


@dataclass(frozen=True)
class Comparison:
    """The last recording of a kind as found and as left, its figures side by side, its chart."""

    kind: SoundKind
    found: Recording | None
    left: Recording | None
    rows: tuple[Row, ...]
    chart: SoundChart | None

    @property
    def is_level(self) -> bool:
        """Whether both rest on a level that is known, or both on none: only then do their curves share an axis."""
        return self.found is None or self.left is None or (self.found.volts_full is None) == (self.left.volts_full is None)


def comparisons(order: RepairOrder) -> list[Comparison]:
    """Each kind that was recorded, in a fixed order."""
    standing = [one for one in of_order(order) if one.struck_at is None]
    found = []
    for kind in SoundKind:
        before = next((one for one in standing if one.kind is kind and one.phase is Phase.AS_FOUND), None)
        after = next((one for one in standing if one.kind is kind and one.phase is Phase.AS_LEFT), None)
        if before or after:
            found.append(_compared(kind, before, after))
    return found


def _compared(kind: SoundKind, before: Recording | None, after: Recording | None) -> Comparison:
    earlier = {one.name: one.figure for one in before.figures} if before else {}
    later = {one.name: one.figure for one in after.figures} if after else {}
    rows = tuple(Row(name, earlier.get(name), later.get(name)) for name in dict.fromkeys([*earlier, *later]))
    made = Comparison(kind, before, after, rows, None)
    curves = (before.curve if before else (), after.curve if after else ())
    return Comparison(kind, before, after, rows, draw(kind, *curves) if made.is_level else draw(kind, (), curves[1]))
