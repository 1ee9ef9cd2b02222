"""What recordings of the load's voltage showed, as found and as left."""

from __future__ import annotations

from dataclasses import dataclass

from app.measuring.rules import say
from app.orders.models import RepairOrder
from app.sound.drawing import SoundChart, draw
from app.sound.models import Recording
from app.sound.queries import Comparison, comparisons
from app.sound.rules import Curve, SoundKind


@dataclass(frozen=True)
class HeardRow:
    """One figure in words, as found and as left; empty where there is none."""

    name: str
    found: str
    left: str


@dataclass(frozen=True)
class HeardKind:
    """One kind of recording: its figures, the curves that share an axis, and what each level rests on."""

    kind: SoundKind
    rows: tuple[HeardRow, ...]
    found_curve: Curve
    left_curve: Curve
    basis: tuple[str, ...]

    @property
    def chart(self) -> SoundChart | None:
        return draw(self.kind, self.found_curve, self.left_curve)


def heard(order: RepairOrder) -> tuple[HeardKind, ...]:
    """Each kind that was recorded on an order."""
    return tuple(_kind(one) for one in comparisons(order))


def _kind(one: Comparison) -> HeardKind:
    rows = tuple(HeardRow(row.name, row.found.words if row.found else "", row.left.words if row.left else "") for row in one.rows)
    return HeardKind(one.kind, rows, one.found.curve if one.found and one.is_level else (), one.left.curve if one.left else (),
                     tuple(_basis(each) for each in (one.found, one.left) if each))


def _basis(one: Recording) -> str:
    load = f", load {say(one.load_ohm, 'Ω')}" if one.load_ohm else ""
    condition = f", {one.condition}" if one.condition else ""
    level = f"level by {one.level_basis}" if one.level_basis else "level not known, relative figures only"
    return f"{one.phase.value.capitalize()}: {level}{load}{condition}"
