"""Reading recordings back, and the two of each kind that stand side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import session
from app.measuring.rules import Phase
from app.orders.models import RepairOrder
from app.sound.drawing import SoundChart, draw
from app.sound.models import Recording
from app.sound.rules import DIGITS, UNKNOWN_LEVEL, Figure, SoundKind

WHOLE = 10  # from so many percent on, a change is said without decimals


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
        if self.found.unit == UNKNOWN_LEVEL:
            return "level unknown"  # the recorder may have been turned between the two
        by = self.left.value - self.found.value
        if self.found.unit.startswith("dB"):
            return _signed(round(by, 1), "dB", 1)
        last_digit = _last_digit(max(abs(self.found.value), abs(self.left.value)))
        by = round(by / last_digit) * last_digit  # what the figures beside it do not show is no change
        if self.found.value and self.found.unit != "%":
            percent = 100 * by / self.found.value
            return _signed(percent, "%", 0 if abs(percent) >= WHOLE else 1)
        return _signed(by, "points", max(0, -math.floor(math.log10(last_digit))))


def _last_digit(value: float) -> float:
    """What the last digit of a figure stands for, as it is shown."""
    return float(10.0 ** (math.floor(math.log10(value)) + 1 - DIGITS)) if value else 1.0


def _signed(value: float, unit: str, places: int) -> str:
    """'+2.5 %', '−1 points'; a change of nothing has no sign."""
    told = f"{value:+.{places}f}"
    told = told.rstrip("0").rstrip(".") if "." in told else told
    return f"{'0' if not float(told) else told} {unit}".replace("-", "−")


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
