"""What a figure of a kept calculation may be used for. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.electrics.notation import show
from app.errors import BadInput

_SI = ("ohm", "V", "A", "F", "H", "W", "VA", "s", "Hz", "J")


class Purpose(StrEnum):
    """What the order takes a figure for."""

    VOLTS = "worst-case voltage"
    WATTS = "worst-case power"
    REVERSE = "reverse voltage"
    RIPPLE = "ripple"
    EXPECTED = "expected value"
    ENERGY = "stored energy"
    TIME = "time to discharge"

    @property
    def unit(self) -> str:
        """The unit that a figure must have; "" where the point says it."""
        return {"worst-case power": "W", "expected value": "", "stored energy": "J", "time to discharge": "s"}.get(self.value, "V")

    @property
    def of_a_part(self) -> bool:
        return self in (Purpose.VOLTS, Purpose.WATTS, Purpose.REVERSE, Purpose.RIPPLE)


@dataclass(frozen=True)
class KeptFigure:
    """One number of a kept calculation, in the SI unit of its sign."""

    key: str
    label: str
    value: float
    unit: str

    @property
    def words(self) -> str:
        """'Highest at start-up 637 V'."""
        return f"{self.label} {self.shown}"

    @property
    def shown(self) -> str:
        """'637 V', '0.7 of one', with the sign of its unit."""
        return say_figure(self.value, self.unit)


def say_figure(value: float, unit: str) -> str:
    """A figure with its unit, as the bench writes it; a share in per cent."""
    if unit == "%":
        return f"{value * 100:.3g} %"
    return show(value, unit) if unit in _SI else f"{value:.4g} {unit}".strip()


def check_fits(figure: KeptFigure, purpose: Purpose, unit: str, others: Sequence[KeptFigure]) -> None:
    """Refuse a figure of another unit, one that is no magnitude, and a mean where the calculation knows a start-up peak."""
    if figure.unit != unit:
        raise BadInput(f"{figure.label} is in {show_unit(figure.unit)}; the {purpose.value} is in {show_unit(unit)}. "
                       "Choose another.", "figure")
    if purpose is not Purpose.EXPECTED and not figure.value > 0.0:
        raise BadInput(f"{figure.label} is {figure.shown}: nothing to rest a {purpose.value} on.", "figure")
    highest = [one for one in others if "highest" in one.key and one.unit == "V"]
    if purpose is Purpose.VOLTS and highest and "highest" not in figure.key:
        most = max(highest, key=lambda one: one.value)
        raise BadInput(f"{figure.label} is not the most that its place can see: at start-up it is {show(most.value, 'V')} "
                       f"({most.label}). Choose that.", "figure")


def show_unit(unit: str) -> str:
    """The unit as it is printed."""
    return "Ω" if unit == "ohm" else unit or "a bare number"
