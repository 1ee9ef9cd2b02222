"""Everything that stands on an estimate and on the note of a consent, gathered once so that paper and screen say the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from app.orders.models import Channel, RepairOrder
from app.quote import queries
from app.quote.models import Authorisation, DeclinedWork, IssuedLine, Quote
from app.quote.rules.words import LineGroup, OldParts, WorkKind, asked


@dataclass(frozen=True)
class ConsentFacts:
    """One consent: when, by whom, reached where, written down by whom, on what conditions, what was added, for how much more.

    These are the facts that 16 CCR 2722 (United States, California) asks of a note of oral consent. Sums in minor units, tax
    included; `added_minor` and the two lists are against the answer before, or against nothing for the first.
    """

    agreed_at: datetime
    by_name: str
    channel: Channel
    reached_at: str
    taken_by: str
    conditions: str
    agreed: tuple[IssuedLine, ...]
    declined: tuple[IssuedLine, ...]
    added: tuple[IssuedLine, ...]
    taken_out: tuple[IssuedLine, ...]
    total_minor: int
    added_minor: int
    ceiling_minor: int
    revision: int
    revision_before: int | None
    signature: str
    on_paper: bool
    typed: bool

    @property
    def is_variation(self) -> bool:
        return self.revision_before is not None


@dataclass(frozen=True)
class EstimateFacts:
    """One revision as it was issued, and the answer to it. Sums in minor units of `currency`; `at_most_minor` is all told."""

    order_number: int
    amp: str
    authority_holder: str
    revision: int
    replaces: int | None
    issued_at: datetime
    issued_by: str
    valid_until: date
    currency: str
    groups: tuple[tuple[LineGroup, tuple[IssuedLine, ...]], ...]
    not_counted: tuple[IssuedLine, ...]
    modifications: tuple[IssuedLine, ...]
    net_minor: int
    tax_name: str
    tax_rate_bp: int
    tax_minor: int
    total_minor: int
    diagnosis_minor: int
    diagnosis_credited: bool
    in_all_minor: int
    at_most_minor: int
    could_rise_minor: int
    range_words: str
    could_change: str
    assumptions: str
    days_to_complete: int
    old_parts: OldParts
    declining_means: str
    decline_fee_minor: int
    answer: ConsentFacts | None
    acknowledged: tuple[DeclinedWork, ...]


def estimate_facts(order: RepairOrder, quote: Quote | None = None) -> EstimateFacts | None:
    """The facts of this revision, of the newest if none is named; None before one is issued."""
    quote = quote or queries.current(order)
    if quote is None:
        return None
    lines, answers = tuple(quote.lines), queries.authorisations(order.id)
    answer = next((one for one in answers if one.quote_id == quote.id and one.authority.withdrawn_at is None), None)
    shown = {line.line_id for line in lines}
    return EstimateFacts(
        order_number=order.number, amp=order.amp.title, authority_holder=order.authority.name, revision=quote.number,
        replaces=quote.replaces.number if quote.replaces else None, issued_at=quote.issued_at, issued_by=quote.issued_by,
        valid_until=quote.valid_until, currency=quote.currency, groups=_groups(lines),
        not_counted=tuple(line for line in lines if not asked(line.group)),
        modifications=tuple(line for line in lines if line.kind is WorkKind.MODIFICATION),
        net_minor=quote.net_minor, tax_name=quote.tax_name, tax_rate_bp=quote.tax_rate_bp, tax_minor=quote.tax_minor,
        total_minor=quote.total_minor, diagnosis_minor=quote.diagnosis_minor, diagnosis_credited=quote.diagnosis_credited,
        in_all_minor=quote.in_all_minor, at_most_minor=quote.at_most_minor,
        could_rise_minor=quote.at_most_minor - quote.in_all_minor, range_words=quote.range_words,
        could_change=quote.could_change, assumptions=quote.assumptions, days_to_complete=quote.days_to_complete,
        old_parts=quote.old_parts, declining_means=quote.declining_means, decline_fee_minor=quote.decline_fee_minor,
        answer=consent_facts(answer, _before(answers, answer)) if answer else None,
        acknowledged=tuple(paper for paper in queries.acknowledgements(order.id) if paper.line_id in shown))


def consent_facts(answer: Authorisation, before: Authorisation | None) -> ConsentFacts:
    """What was agreed to, and what that adds to the answer before."""
    agreed = _decided(answer, agreed=True)
    earlier = _decided(before, agreed=True) if before else ()
    known, now = {line.line_root_id for line in earlier}, {line.line_root_id for line in agreed}
    return ConsentFacts(
        agreed_at=answer.agreed_at, by_name=answer.by_name, channel=answer.channel, reached_at=answer.reached_at,
        taken_by=answer.taken_by, conditions=answer.conditions, agreed=agreed, declined=_decided(answer, agreed=False),
        added=tuple(line for line in agreed if line.line_root_id not in known),
        taken_out=tuple(line for line in earlier if line.line_root_id not in now), total_minor=answer.total_minor,
        added_minor=answer.added_minor, ceiling_minor=answer.authority.ceiling_minor, revision=answer.quote.number,
        revision_before=before.quote.number if before else None, signature=answer.signature, on_paper=answer.on_paper,
        typed=answer.typed)


def _groups(lines: tuple[IssuedLine, ...]) -> tuple[tuple[LineGroup, tuple[IssuedLine, ...]], ...]:
    by_group = ((group, tuple(line for line in lines if line.group is group)) for group in LineGroup)
    return tuple((group, found) for group, found in by_group if found)


def _before(answers: Sequence[Authorisation], answer: Authorisation | None) -> Authorisation | None:
    """The standing answer that came before this one; `answers` newest first."""
    if answer is None:
        return None
    return next((one for one in answers if one.id < answer.id and one.authority.withdrawn_at is None), None)


def _decided(answer: Authorisation, *, agreed: bool) -> tuple[IssuedLine, ...]:
    return tuple(decision.line for decision in answer.decisions if decision.agreed is agreed)
