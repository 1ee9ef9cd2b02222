"""Taxes on a sale: up to two, beside each other or one on the other, on top of the prices or inside them. Pure.

All sums are integers of the smallest coin; rates are thousandths of a percent (9.975 % is 9975). A sum is rounded to the smallest
coin, halves away from nought, once on the total or once on each line, as the rule says. The net is what is left of the total.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

WHOLE = 100_000  # thousandths of a percent in the whole
A_BASIS_POINT = 10  # thousandths of a percent
MOST_RATE = WHOLE


@dataclass(frozen=True)
class Tax:
    """What it is called, and its rate in thousandths of a percent."""

    name: str
    rate: int

    @property
    def words(self) -> str:
        """'GST 10 %', 'QST 9.975 %'."""
        return f"{self.name} {Decimal(self.rate).scaleb(-3).normalize():f} %".strip()


@dataclass(frozen=True)
class Taxed:
    """A sum before tax, each tax of the rule on it, and together; smallest coins."""

    net_minor: int
    taxes_minor: tuple[int, ...]

    @property
    def tax_minor(self) -> int:
        return sum(self.taxes_minor)

    @property
    def total_minor(self) -> int:
        return self.net_minor + self.tax_minor

    @property
    def second_minor(self) -> int:
        """The second tax alone; 0 where there is one or none."""
        return self.taxes_minor[1] if len(self.taxes_minor) > 1 else 0


@dataclass(frozen=True)
class TaxRule:
    """How tax is put on prices.

    `second_on_first`: the second tax is on the sum with the first one in it. `included`: prices have the tax in them, and it is
    taken out of them. `each_line`: tax is rounded for each line and added up, else once on the total.
    """

    taxes: tuple[Tax, ...]
    second_on_first: bool = False
    included: bool = False
    each_line: bool = False

    @property
    def on_top_bp(self) -> float:
        """All tax together in basis points of a price before tax; 0 where prices have it in them."""
        return 0.0 if self.included else float((self._factor() - 1) * 10_000)

    @property
    def basis(self) -> str:
        """How a price of it is meant."""
        return "tax included" if self.included else "before tax"

    @property
    def how_rounded(self) -> str:
        """How the tax is calculated, in a sentence."""
        names = " and ".join(tax.name or "tax" for tax in self.taxes) or "tax"
        verb = "are" if len(self.taxes) > 1 else "is"
        inside = "taken out of the prices, which include it" if self.included else "calculated"
        where = "on each item" if self.each_line else "once, on the total of the items"
        first_in_it = len(self.taxes) > 1 and self.second_on_first
        second = f" {self.taxes[1].name} is on the total with {self.taxes[0].name}." if first_in_it else ""
        return f"{names} {verb} {inside} {where}, and rounded to the nearest smallest coin, halves up.{second}"

    def on(self, prices: Sequence[int]) -> Taxed:
        """The tax on these lines: their prices as they stand in the price list, smallest coins."""
        if self.each_line:
            return self._together([self._on(one) for one in prices])
        return self._on(sum(prices))

    def inside(self, total_minor: int) -> Taxed:
        """The tax that a sum of money already holds, whatever the price list says: a fee agreed with tax, a sum given back."""
        return TaxRule(self.taxes, self.second_on_first, included=True)._on(total_minor)

    def _together(self, lines: Sequence[Taxed]) -> Taxed:
        each = tuple(sum(line.taxes_minor[place] for line in lines) for place in range(len(self.taxes)))
        return Taxed(sum(line.net_minor for line in lines), each)

    def _factor(self) -> Decimal:
        return 1 + sum((self._share(place) for place in range(len(self.taxes))), Decimal(0))

    def _share(self, place: int) -> Decimal:
        """This tax as a share of the net, by the rates alone."""
        rate = Decimal(self.taxes[place].rate) / WHOLE
        return rate * (1 + self._share(0)) if place and self.second_on_first else rate

    def _on(self, price: int) -> Taxed:
        if self.included:
            net = Decimal(price) / self._factor()
            taxes = tuple(_coins(net * self._share(place)) for place in range(len(self.taxes)))
            return Taxed(price - sum(taxes), taxes)
        taxes = ()
        for place, tax in enumerate(self.taxes):
            base = price + sum(taxes) if place and self.second_on_first else price
            taxes = (*taxes, _coins(Decimal(base) * tax.rate / WHOLE))
        return Taxed(price, taxes)


def one_tax(name: str, rate_bp: int) -> TaxRule:
    """One tax on top of the prices, its rate in basis points."""
    return TaxRule((Tax(name, rate_bp * A_BASIS_POINT),))


def rounded_for_cash(minor: int, step: int) -> int:
    """To the nearest sum that can be paid in coins: multiples of `step` smallest coins, halves away from nought; 1 leaves it."""
    if step < 1:
        raise ValueError(f"a step of {step} is none")
    return _coins(Decimal(minor) / step) * step


def _coins(amount: Decimal) -> int:
    return int(amount.to_integral_value(ROUND_HALF_UP))
