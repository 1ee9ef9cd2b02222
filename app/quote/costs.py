"""Committed cost against what was agreed. Later rooms say what they add by registering a source here."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

from app.intake.queries import sheets as sheets_queries
from app.kernel.money import show
from app.orders import authority
from app.orders.models import RepairOrder
from app.orders.warranty import Pays, who_pays
from app.quote import queries
from app.quote.models import Quote
from app.quote.rules.costs import AgreedCost, Level, Limits, PartCost, commit, in_all, level
from app.quote.rules.lines import Sums
from app.shop.queries import the_shop

Source = Callable[[RepairOrder], Iterable[PartCost]]
_sources: list[Source] = []


def adds_cost(source: Source) -> Source:
    """Register what else is charged on an order: parts that are ordered or here."""
    if source not in _sources:
        _sources.append(source)
    return source


@dataclass(frozen=True)
class CostStanding:
    """Committed, expected and agreed sums of an order in minor units, tax included; `words` says how they stand."""

    committed_minor: int
    expected_minor: int
    ceiling_minor: int | None
    level: Level
    words: str

    @property
    def percent(self) -> int:
        """Committed cost in percent of the ceiling, rounded up so that 100 is never said too early; 0 without a ceiling."""
        return -(-self.committed_minor * 100 // self.ceiling_minor) if self.ceiling_minor else 0

    @property
    def left_minor(self) -> int:
        return (self.ceiling_minor or 0) - self.committed_minor


def committed(order: RepairOrder, *more: PartCost) -> int:
    """What is bound to be charged on an order, with `more` on top; minor units, tax and diagnosis included."""
    parts = [cost for source in _sources for cost in source(order)]
    return _committed(order, [*parts, *more])


def basis(order: RepairOrder) -> str:
    """How prices of this order are meant: as on the quote that was answered, else as the shop's are."""
    answer = queries.authorisation(order)
    return (answer.quote if answer is not None else the_shop()).tax_rule.basis


def expected(order: RepairOrder) -> int:
    """What the customer was told it would come to: the agreed lines and the diagnosis, tax included."""
    return _committed(order, [])


def parts_beside_labour(order: RepairOrder) -> int:
    """What parts take of the agreed sum: as quoted, or more where they cost more; minor units, as the quote's prices are meant."""
    answer = queries.authorisation(order)
    labour = sum(one.line.labour_minor for one in answer.decisions if one.agreed) if answer is not None else 0
    sums = _sums(order, [cost for source in _sources for cost in source(order)])
    included = answer is not None and answer.quote.tax_included
    return (sums.total_minor if included else sums.net_minor) - labour


def standing(order: RepairOrder, *more: PartCost) -> CostStanding:
    """How committed cost stands to the ceiling, with `more` on top."""
    shop, ceiling, pays = the_shop(), authority.ceiling(order.id), who_pays(order)
    spent, told = committed(order, *more), expected(order)
    if pays is Pays.SHOP:
        return CostStanding(spent, told, 0, Level.WITHIN, f"{pays.why_nothing_is_charged} {show(spent, shop.currency)} of work and "
                                                          "parts is the shop’s own cost.")
    if pays is Pays.OPEN:
        return CostStanding(spent, told, None, Level.NOTHING_AGREED, pays.why_nothing_is_charged)
    how = level(spent, told, ceiling, Limits(shop.warn_at_percent, shop.hold_at_percent))
    return CostStanding(spent, told, ceiling, how, _words(how, spent, told, ceiling or 0, shop.currency))


def _committed(order: RepairOrder, parts: list[PartCost]) -> int:
    answer, total = queries.authorisation(order), _sums(order, parts).total_minor
    if answer is not None:
        return in_all(total, answer.quote.diagnosis_minor, credited=answer.quote.diagnosis_credited)
    offered = sheets_queries.agreement(order.id) if who_pays(order) is Pays.CUSTOMER else None
    return in_all(total, offered.fee_minor, credited=offered.fee_credited) if offered else total


def would_come_to(quote: Quote, agreed: Collection[int]) -> int:
    """What an answer binds the customer to that agrees to these of the revision's lines, by id; minor units, all told."""
    costs = [AgreedCost(line.line_root_id, line.labour_minor, line.parts_minor) for line in quote.lines if line.id in agreed]
    return in_all(commit(costs, [], quote.tax_rule).total_minor, quote.diagnosis_minor, credited=quote.diagnosis_credited)


def _sums(order: RepairOrder, parts: list[PartCost]) -> Sums:
    answer = queries.authorisation(order)
    if answer is None:
        return commit([], parts, the_shop().tax_rule)
    agreed = [AgreedCost(decision.line.line_root_id, decision.line.labour_minor, decision.line.parts_minor)
              for decision in answer.decisions if decision.agreed]
    return commit(agreed, parts, answer.quote.tax_rule)


def _words(how: Level, spent: int, told: int, ceiling: int, currency: str) -> str:
    def say(minor: int) -> str:
        return show(minor, currency)

    percent = -(-spent * 100 // ceiling) if ceiling else 100
    return {
        Level.NOTHING_AGREED: "Nothing is agreed yet: no part is ordered and no repair work begun until it is.",
        Level.WITHIN: f"{say(spent)} is committed, as the customer was told. Agreed up to {say(ceiling)}.",
        Level.ABOVE_QUOTE: f"{say(spent)} is committed, {say(spent - told)} above the quote. {say(ceiling - spent)} is left "
                           "of what was agreed.",
        Level.WARN: f"Warning: {percent} % of what was agreed is committed, {say(spent - told)} above the quote. "
                    f"{say(ceiling - spent)} is left. Tell the customer before it is used up.",
        Level.HOLD: f"Hold: {percent} % of what was agreed is committed. {say(ceiling - spent)} is left. "
                    "Get a variation approved before anything more is ordered or done.",
        Level.PASSED: f"{say(spent)} is committed, {say(spent - ceiling)} more than was agreed. Stop, and agree on a variation "
                      "with the customer.",
    }[how]
