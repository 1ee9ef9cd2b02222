"""Reading the quote: its live lines, its revisions, the answer that stands, and what is still to be acknowledged."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.orm import aliased, joinedload, selectinload

from app.db import session
from app.findings import queries as findings_queries
from app.findings.models.findings import Finding
from app.findings.rules.life import Status
from app.findings.rules.risk import MUST_ACT
from app.orders.models import CostAuthority, RepairOrder
from app.quote.models import Authorisation, Decision, DeclinedWork, IssuedLine, Quote, QuoteLine
from app.quote.rules.costs import in_all
from app.quote.rules.lines import add_up
from app.quote.rules.words import PRESSING, LineGroup, asked, must_be_acknowledged
from app.request_cache import cached_until_write

_ORDER = tuple(LineGroup)


def find_line(line_id: int) -> QuoteLine | None:
    """The line of a draft with this id."""
    return session().get(QuoteLine, line_id)


def find_issued_line(line_id: int) -> IssuedLine | None:
    """The line of a revision with this id."""
    return session().get(IssuedLine, line_id)


@cached_until_write
def lines(order_id: int) -> list[QuoteLine]:
    """What the quote says now: lines that nobody withdrew and none took the place of, by group and position."""
    later = aliased(QuoteLine)
    found = session().scalars(
        sa.select(QuoteLine).outerjoin(later, later.takes_place_of_id == QuoteLine.id)
        .where(QuoteLine.order_id == order_id, QuoteLine.withdrawn_at.is_(None), later.id.is_(None)))
    return sorted(found, key=lambda line: (_ORDER.index(line.group), line.position, line.id))


def past_lines(order_id: int) -> list[QuoteLine]:
    """Lines that were withdrawn or replaced: they stay readable."""
    live = {line.id for line in lines(order_id)}
    found = session().scalars(sa.select(QuoteLine).where(QuoteLine.order_id == order_id)
                              .options(selectinload(QuoteLine.later)).order_by(QuoteLine.id))
    return [line for line in found if line.id not in live]


@cached_until_write
def current(order: RepairOrder) -> Quote | None:
    """The revision issued last."""
    newest = sa.select(sa.func.max(Quote.number)).where(Quote.order_id == order.id).scalar_subquery()
    return session().scalars(sa.select(Quote).where(Quote.order_id == order.id, Quote.number == newest)
                             .options(joinedload(Quote.lines))).unique().one_or_none()


def find_revision(quote_id: int) -> Quote | None:
    """The revision with this id."""
    return session().get(Quote, quote_id)


def revisions(order_id: int) -> Sequence[Quote]:
    """Every revision, newest first."""
    return session().scalars(sa.select(Quote).where(Quote.order_id == order_id).order_by(Quote.number.desc())).all()


def counted(order: RepairOrder, among: Sequence[QuoteLine]) -> list[QuoteLine]:
    """What of the draft is in its sums: items that are asked about and that the standing answer does not decline."""
    declined = declined_line_ids(order)
    return [line for line in among if asked(line.group) and line.id not in declined]


def out_of_date(order: RepairOrder) -> bool:
    """Whether lines were added, changed or withdrawn after the newest revision was issued."""
    issued = current(order)
    return issued is not None and {line.line_id for line in issued.lines} != {line.id for line in lines(order.id)}


def authorisations(order_id: int) -> Sequence[Authorisation]:
    """Every answer, newest first, those whose entry in the ledger was withdrawn too."""
    return session().scalars(
        sa.select(Authorisation).where(Authorisation.order_id == order_id)
        .options(selectinload(Authorisation.decisions).selectinload(Decision.line), selectinload(Authorisation.quote),
                 selectinload(Authorisation.authority))
        .order_by(Authorisation.id.desc())).all()


@cached_until_write
def authorisation(order: RepairOrder) -> Authorisation | None:
    """The answer that stands: the newest whose entry in the ledger of authority was not withdrawn."""
    return session().scalars(
        sa.select(Authorisation).join(CostAuthority, CostAuthority.id == Authorisation.authority_id)
        .where(Authorisation.order_id == order.id, CostAuthority.withdrawn_at.is_(None))
        .options(joinedload(Authorisation.decisions).joinedload(Decision.line), joinedload(Authorisation.quote))
        .order_by(Authorisation.id.desc()).limit(1)).unique().one_or_none()


def agreed_lines(order: RepairOrder) -> list[IssuedLine]:
    """The lines that the standing answer agrees to; empty before there is one."""
    return _decided(order, agreed=True)


def declined_lines(order: RepairOrder) -> list[IssuedLine]:
    """The lines that the standing answer declines."""
    return _decided(order, agreed=False)


def decided(order: RepairOrder) -> dict[int, bool]:
    """Whether each item of the draft, as it stands now, is agreed to (else declined), by its id; unanswered ones are not in it."""
    standing = authorisation(order)
    return {decision.line.line_id: decision.agreed for decision in standing.decisions} if standing else {}


def decided_on(quote: Quote) -> dict[int, bool]:
    """The same for the items of one revision, by the answer to it that stands, by the id of the item that was issued."""
    answers = (one for one in authorisations(quote.order_id) if one.quote_id == quote.id and one.authority.withdrawn_at is None)
    answer = next(answers, None)
    return {decision.line.line_id: decision.agreed for decision in answer.decisions} if answer else {}


def agreed_line_roots(order: RepairOrder) -> frozenset[int]:
    """What was agreed to, whatever line took the place of which."""
    return frozenset(line.line_root_id for line in agreed_lines(order))


def authorised_sum(order: RepairOrder) -> int | None:
    """What the agreed lines come to in all, tax and diagnosis included; None before there is an answer."""
    standing = authorisation(order)
    if standing is None:
        return None
    quote = standing.quote
    return in_all(standing.total_minor, quote.diagnosis_minor, credited=quote.diagnosis_credited)


def agreed_sum(quote: Quote, agreed: Sequence[IssuedLine]) -> int:
    """What these lines of a revision come to in all, tax and diagnosis included."""
    sums = add_up((line.net_minor for line in agreed), quote.tax_rule)
    return in_all(sums.total_minor, quote.diagnosis_minor, credited=quote.diagnosis_credited)


def declined_line_ids(order: RepairOrder) -> frozenset[int]:
    """Items of the draft, as they stand now, that the standing answer declines."""
    return frozenset(line.line_id for line in declined_lines(order))


def findings_to_quote(order: RepairOrder) -> list[Finding]:
    """Findings that have not ended, gravest first: what a line may be about."""
    return findings_queries.gravest_first(findings_queries.open_findings(order))


def pressing_findings_not_quoted(order: RepairOrder) -> list[Finding]:
    """Open findings of serious or high risk about which no line says anything."""
    said = {line.finding_id for line in lines(order.id) if asked(line.group)}
    return [finding for finding in findings_to_quote(order)
            if finding.risk is not None and finding.risk.value in PRESSING and finding.id not in said]


def risk_letter(finding: Finding | None) -> str:
    """The letter of its risk; empty for a free line and for a finding that is not judged yet."""
    return finding.risk.value if finding is not None and finding.risk is not None else ""


@cached_until_write
def acknowledgements(order_id: int) -> Sequence[DeclinedWork]:
    """What was acknowledged in writing, oldest first."""
    return session().scalars(sa.select(DeclinedWork).where(DeclinedWork.order_id == order_id)
                             .options(selectinload(DeclinedWork.line)).order_by(DeclinedWork.id)).all()


def to_acknowledge(order: RepairOrder) -> list[IssuedLine]:
    """Declined lines for which the customer's name under what that means is still missing."""
    hazards = declined_hazards(order)
    signed = {paper.line_id for paper in acknowledgements(order.id)} if hazards else set()
    return [line for line in hazards if line.line_id not in signed]


def declined_hazards(order: RepairOrder) -> list[IssuedLine]:
    """Declined lines of safety, or about a serious or high risk, that no agreed line about the same finding stands in for."""
    agreed = [(line.finding_id, line.group) for line in agreed_lines(order) if line.finding_id is not None]
    return [line for line in declined_lines(order)
            if must_be_acknowledged(line.group, line.risk, [group for finding, group in agreed if finding == line.finding_id])]


def hazards_not_cured(order: RepairOrder) -> list[str]:
    """Serious and high risks whose cure was declined and that no check has proved cured since, in words, gravest first."""
    lines = [line for line in declined_hazards(order) if line.group is LineGroup.SAFETY or line.risk in PRESSING]
    found = {finding.id: finding for finding in findings_queries.gravest_first(findings_queries.findings_of(order))}
    stand = {finding.id for finding in found.values() if finding.status not in (Status.PROVED, Status.WITHDRAWN)}
    signed = {paper.line_id: paper for paper in acknowledgements(order.id)} if lines else {}
    told = []
    for line in sorted(lines, key=lambda one: list(found).index(one.finding_id) if one.finding_id in found else len(found)):
        if line.finding_id is None or line.finding_id in stand:
            about = found[line.finding_id].called if line.finding_id in found else ""
            paper = signed.get(line.line_id)
            how = (f"{paper.signer_name}, {paper.how.value}" if paper else "not acknowledged yet")
            told.append(f"{line.what}{f' ({about})' if about else ''}: {how}")
    quoted = {line.finding_id for line in lines}
    return told + [finding.called for finding in found.values() if finding.id not in quoted and finding.risk in MUST_ACT
                   and finding.status is Status.DECLINED]


def _decided(order: RepairOrder, *, agreed: bool) -> list[IssuedLine]:
    standing = authorisation(order)
    return [decision.line for decision in standing.decisions if decision.agreed is agreed] if standing else []
