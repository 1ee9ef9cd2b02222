"""What a line must say and costs, what lines add up to, and how sure their hours are. Pure."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from app.errors import BadInput
from app.estimating.history import calibrate
from app.estimating.sums import Range
from app.estimating.sums import total as sum_of_hours
from app.kernel.money import for_hours
from app.kernel.spec import Asked, Choice, Money, Number, Text, asked, values
from app.kernel.taxes import TaxRule, one_tax
from app.quote.rules.words import PRESSING, LineGroup, PartCondition, WorkKind

# Tasks on one amp run late together: what makes one slow (dirt, brittle wire) slows the next. Judgement, no source.
LATE_TOGETHER = 0.3
LONGEST_HOURS = 400.0
# Below this many past jobs a range of four in five says more about Student's t than about the work: common practice, no source.
FEWEST_JOBS = 8
OUTLOOKS = 500  # outlooks kept in memory: some kilobytes each at most


@dataclass(frozen=True)
class Hours:
    """Three figures for one task, in hours: 0 ≤ low ≤ likely ≤ high. One figure thrice where nothing is in doubt."""

    low: float
    likely: float
    high: float

    @classmethod
    def one(cls, hours: float) -> Hours:
        return cls(hours, hours, hours)

    @property
    def in_doubt(self) -> bool:
        return self.high > self.low


def _or_none(value: Any) -> Any:
    return getattr(value, "value", value) or None


@dataclass(frozen=True)
class Draft:
    """A line as somebody writes it. Money in minor units before tax; `finding_id` None for a free line."""

    group: LineGroup = asked(Choice("Why it is needed", "Choose why it is needed.", words=values(LineGroup)))
    what: str = asked(Text("What would be done", "Enter what would be done.", longest=1000, sort="lines"))
    hours: Hours  # type: ignore[misc]  # the two before it have no default either
    finding_id: int | None = None
    parts: str = asked(Text("Parts", longest=400, said=_or_none), "")
    parts_minor: int = asked(Money("Price of the parts", journal=None), 0)  # the journal tells the price of the line
    parts_cost_minor: int | None = asked(Money("Or what they cost the shop", journal=None), None)
    rate_name: str = asked(Choice("Labour rate", None, drop_down=True, later=True, reads=str, start="", journal="labour rate",
                                  said=_or_none), "")
    condition: PartCondition | None = asked(Choice("The parts are", words=values(PartCondition), journal="condition of parts",
                                                   said=_or_none), None)
    kind: WorkKind = asked(Choice("Kind of work", None, words=values(WorkKind), start=WorkKind.REPAIR, journal="kind of work"),
                           WorkKind.REPAIR)
    consequence: str = asked(Text("What the modification changes", longest=1000, sort="lines", said=_or_none), "")
    warranty_days: int = asked(Number("Warranty", "Enter days of warranty, 0 for none.", whole=True, low=0, high=3650,
                                      wrong="Enter days from 0 to 3650."), 0)


@dataclass(frozen=True)
class About:
    """The finding that a line is about, 0 for none; the journal tells its title."""

    finding: int = asked(Choice("What it is about", None, drop_down=True, later=True, reads=int, start=0, journal=None), 0)


@dataclass(frozen=True)
class TypedHours(Asked):
    """Hours as people type them: 1.5, 1:30 or 90 min."""


@dataclass(frozen=True)
class HoursAsked:
    """Three figures; where only the likely hours are given, nothing is in doubt. The journal tells them as one."""

    hours_likely: float = asked(TypedHours("Likely hours", "Enter the likely hours, 0 for none.", journal=None))
    hours_low: float | None = asked(TypedHours("At least", journal=None), None)
    hours_high: float | None = asked(TypedHours("At most", journal=None), None)

    @property
    def hours(self) -> Hours:
        likely = self.hours_likely or 0.0
        return Hours(likely if self.hours_low is None else self.hours_low, likely,
                     likely if self.hours_high is None else self.hours_high)


@dataclass(frozen=True)
class Priced:
    """What one line adds to the sums: its hours and rate, its labour and parts before tax (minor units)."""

    hours: Hours
    rate_minor: int
    labour_minor: int
    parts_minor: int

    @property
    def net_minor(self) -> int:
        return self.labour_minor + self.parts_minor


@dataclass(frozen=True)
class Sums:
    """Before tax, all tax, and together (minor units); `second_minor` is the part of the tax that a second tax makes."""

    net_minor: int
    tax_minor: int
    second_minor: int = 0

    @property
    def total_minor(self) -> int:
        return self.net_minor + self.tax_minor


@dataclass(frozen=True)
class Outlook:
    """How long it may take and what it may come to: hours, and the sum that 90 % of its outcomes stay within, tax included."""

    hours: Range
    maximum_minor: int

    @property
    def words(self) -> str:
        return say_range(self.hours.p50, self.hours.p80, self.hours.p90)


def check(draft: Draft, *, risk: str = "") -> None:
    """Refuse a line that says too little or asks the impossible; `risk` is the letter of the finding it is about."""
    if not draft.what.strip():
        raise BadInput("Enter what would be done.", "what")
    _check_hours(draft.hours)
    if draft.parts_minor < 0:
        raise BadInput("Enter a price of 0 or more.", "parts_minor")
    if draft.parts_minor and not draft.parts.strip():
        raise BadInput("Name the parts that this price is for.", "parts")
    if draft.parts_cost_minor is not None and draft.parts_cost_minor < 0:
        raise BadInput("Enter a cost of 0 or more.", "parts_cost_minor")
    if draft.parts_minor and draft.parts_cost_minor is not None:
        raise BadInput("Enter the price of the parts or what they cost, not both.", "parts_cost_minor")
    if draft.parts_cost_minor and not draft.parts.strip():
        raise BadInput("Name the parts that this cost is for.", "parts")
    if draft.parts.strip() and draft.condition is None:
        raise BadInput("Enter whether the parts are new, used, refurbished or the customer’s own.", "condition")
    if draft.kind is WorkKind.MODIFICATION and not draft.consequence.strip():
        raise BadInput("Enter what the modification changes: sound, value, approvals, and whether it can be undone.", "consequence")
    if draft.warranty_days < 0:
        raise BadInput("Enter days of warranty, 0 for none.", "warranty_days")
    if draft.group is LineGroup.NOT_RECOMMENDED and risk in PRESSING:
        raise BadInput("The risk of this finding is serious or high: it cannot be “not recommended”. Choose another "
                       "group.", "group")


def _check_hours(hours: Hours) -> None:
    for field, value in (("hours_low", hours.low), ("hours_likely", hours.likely), ("hours_high", hours.high)):
        if not math.isfinite(value) or not 0 <= value <= LONGEST_HOURS:
            raise BadInput(f"Enter hours from 0 to {LONGEST_HOURS:g}.", field)
    if hours.likely < hours.low:
        raise BadInput("The least hours are more than the likely ones.", "hours_low")
    if hours.high < hours.likely:
        raise BadInput("The most hours are fewer than the likely ones.", "hours_high")


def price(draft: Draft, rate_minor: int, least_minor: int = 0) -> Priced:
    """A line at an hourly rate: the likely hours times the rate, rounded half up, at least the minimum charge, and the parts."""
    labour = for_hours(draft.hours.likely, rate_minor)
    return Priced(draft.hours, rate_minor, max(labour, least_minor) if draft.hours.likely else labour, draft.parts_minor)


def add_up(prices: Iterable[int], tax: TaxRule | int) -> Sums:
    """What lines come to (minor units, each as the price list means it) and the tax on them.

    A rate in basis points stands for one tax on top of the prices, calculated once, on the total.
    """
    taxed = _rule(tax).on(list(prices))
    return Sums(taxed.net_minor, taxed.tax_minor, taxed.second_minor)


def _rule(tax: TaxRule | int) -> TaxRule:
    return one_tax("", tax) if isinstance(tax, int) else tax


def outlook(lines: Sequence[Priced], tax: TaxRule | int) -> Outlook:
    """How long these lines may take together and the sum that 90 % of the outcomes stay within, never below the quoted one.

    Simulated once for the same lines and rate: the page of a quote is opened far oftener than its lines change.
    """
    return _outlook(tuple(lines), tax)


@functools.lru_cache(maxsize=OUTLOOKS)
def _outlook(lines: tuple[Priced, ...], tax: TaxRule | int) -> Outlook:
    known = [line for line in lines if line.hours.high > 0]
    quoted = add_up((line.net_minor for line in lines), tax)
    if not known:
        return Outlook(Range(0.0, 0.0, 0.0, 0.0, 0.0, 0.0), quoted.total_minor)
    hours = sum_of_hours([_three(line, 1.0) for line in known], correlation=LATE_TOGETHER)
    if not any(line.hours.in_doubt for line in known):
        return Outlook(hours, quoted.total_minor)
    labour = sum_of_hours([_three(line, line.rate_minor) for line in known], correlation=LATE_TOGETHER)
    at_most = math.ceil(labour.p90) + sum(line.parts_minor for line in lines)
    return Outlook(hours, max(quoted.total_minor, add_up([at_most], tax).total_minor))


def _three(line: Priced, each: float) -> tuple[float, float, float]:
    return line.hours.low * each, line.hours.likely * each, line.hours.high * each


_HOURS_AND_MINUTES = re.compile(r"(\d{1,3}):([0-5]\d)")
_MINUTES = re.compile(r"(\d{1,5})\s*(?:min|m)\.?")


def parse_hours(text: str) -> float:
    """Hours as people write them: '1.5', '1,5 h', '1:30', '90 min'. ValueError says what to enter."""
    plain = text.strip().lower()
    if both := _HOURS_AND_MINUTES.fullmatch(plain):
        return int(both[1]) + int(both[2]) / 60
    if minutes := _MINUTES.fullmatch(plain):
        return int(minutes[1]) / 60
    try:
        hours = float(plain.removesuffix("h").strip().replace(",", "."))
    except ValueError:
        hours = math.nan
    if not math.isfinite(hours):
        raise ValueError(f"“{text.strip()}” is not a time. Enter hours such as 1.5 or 1:30, or 90 min.")
    return hours


def say_hours(hours: float) -> str:
    """3.25 -> '3.3 h', 2.0 -> '2 h'."""
    return f"{round(hours + 1e-9, 1):g} h"


def say_range(p50: float, p80: float, p90: float) -> str:
    """The hours within which half, 80 % and 90 % of the outcomes lie, by the lines' own ranges: guesses, and no past jobs."""
    if math.isclose(p50, p90, abs_tol=0.005):
        return f"{say_hours(p50)} of work."
    return (f"By our hour ranges: {say_hours(p50)} as likely as not, at most {say_hours(p80)} (80 %), at most "
            f"{say_hours(p90)} (90 %).")


def past_jobs_say(pairs: Sequence[tuple[float, float]]) -> str:
    """How (estimated, actual) hours above zero of past jobs compare, in words; nothing from fewer than two jobs.

    The range holds the next job with a chance of four in five; see `Calibration.interval`. From fewer than `FEWEST_JOBS` none is
    given.
    """
    if len(pairs) < 2:
        return ""
    told = calibrate(pairs)
    if told.n < FEWEST_JOBS:
        return (f"{told.n} past jobs took typically {told.factor:.2g} times their estimated hours: too few for a range, "
                f"which wants {FEWEST_JOBS}.")
    low, high = told.interval(1.0, 0.8)
    return (f"{told.n} past jobs took typically {told.factor:.2g} times their estimated hours. From {told.n} jobs: "
            f"four in five of such jobs would take from {low:.2g} to {high:.2g} times.")
