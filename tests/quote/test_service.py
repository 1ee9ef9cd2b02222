from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, ChangedMeanwhile, RuleBroken
from app.findings.rules.life import Status
from app.intake.service import sheets as sheets_service
from app.intake.service.sheets import Offer
from app.journal.queries import of_order
from app.orders import authority
from app.orders.models import AuthorityFor, Channel
from app.quote import costs, queries
from app.quote.facts import estimate_facts
from app.quote.models import Decision, IssuedLine, Quote
from app.quote.rules.costs import Level
from app.quote.rules.lines import Hours
from app.quote.rules.words import HowAcknowledged, LineGroup
from app.quote.service import answers as answers_service
from app.quote.service import lines as lines_service
from tests.findings import make as bench
from tests.people import BY
from tests.quote import make
from tests.quote.make import LATER, NOW


def test_a_changed_line_takes_the_place_of_the_earlier_one(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        first = make.line(order)
        second = lines_service.change(order, first, make.draft(hours=Hours.one(2)), by=BY, now=LATER)
        third = lines_service.change(order, second, make.draft(hours=Hours.one(3)), by=BY, now=LATER)
        assert [line.id for line in queries.lines(order.id)] == [third.id]
        assert [line.id for line in queries.past_lines(order.id)] == [first.id, second.id]
        assert third.line_root_id == first.line_root_id == first.id and third.position == first.position
        with pytest.raises(ChangedMeanwhile):
            lines_service.change(order, first, make.draft(), by=BY, now=LATER)
        changes = {change.name: change for change in of_order(order.id)[0].changes}
        assert changes["hours"].before == "2 h" and changes["hours"].after == "3 h"


def test_a_withdrawn_line_stays_readable_and_does_not_count(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        line = make.line(order)
        with pytest.raises(BadInput):
            lines_service.withdraw(line, " ", order=order, by=BY, now=LATER)
        lines_service.withdraw(line, "it works after cleaning", order=order, by=BY, now=LATER)
        assert queries.lines(order.id) == [] and queries.past_lines(order.id) == [line]
        with pytest.raises(RuleBroken, match="it works after cleaning"):
            lines_service.withdraw(line, "again", order=order, by=BY, now=LATER)


def test_a_revision_freezes_lines_and_sums(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        line = make.line(order)  # 1.5 h at 95.00 and 42.00
        make.line(order, group=LineGroup.NOT_RECOMMENDED, what="Fit a master volume")
        quote = make.issue(order)
        assert (quote.net_minor, quote.tax_minor, quote.total_minor) == (18_450, 1845, 20_295)
        assert str(quote.valid_until) == "2026-04-01" and quote.number == 1 and not queries.out_of_date(order)
        lines_service.change(order, line, make.draft(hours=Hours.one(2)), by=BY, now=LATER)
        assert queries.out_of_date(order)
        assert [one.hours_likely for one in quote.lines] == [1.5, 1.5]
        later = make.issue(order, LATER)
        assert later.number == 2 and later.replaces_id == quote.id and not queries.out_of_date(order)


@pytest.mark.parametrize("statement", [
    sa.update(Quote).values(total_minor=1, net_minor=1, tax_minor=0),
    sa.update(IssuedLine).values(what="something else"),
    sa.update(Decision).values(agreed=True),
    sa.delete(IssuedLine),
])
def test_the_database_refuses_to_change_what_was_issued(context: Flask, statement: sa.Update | sa.Delete) -> None:
    with transaction():
        order = make.order_at()
        make.line(order)
        make.issue(order)
        make.authorise(order, queries.lines(order.id)[0:0])
    with pytest.raises(sa.exc.DBAPIError, match="refused"), transaction():
        session().execute(statement)


def test_a_stale_page_does_not_issue_lines_it_never_showed(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        with pytest.raises(BadInput, match="add a line first"):
            make.issue(order)
        seen = frozenset([make.line(order).id])
        make.line(order, what="Clean the controls")
        with pytest.raises(BadInput, match="Items were changed"):
            make.issue(order, seen=seen)
        make.issue(order, after=0)
        with pytest.raises(BadInput, match="Another revision"):
            make.issue(order, after=0)


def test_the_most_cannot_be_less_than_the_total(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        make.line(order)
        with pytest.raises(BadInput) as refused:
            make.issue(order, maximum_minor=20_294)
        assert refused.value.field == "maximum_minor"
        assert make.issue(order, maximum_minor=25_000).maximum_minor == 25_000


def test_an_answer_writes_the_ledger_of_authority(context: Flask) -> None:
    """The facts of a consent by word of mouth, after 16 CCR 2722: date, time, who, number called, who took it, conditions,
    added work, added total."""
    with transaction():
        order = make.order_at()
        line, extra = make.line(order), make.line(order, what="Clean the controls", group=LineGroup.OPTIONAL, parts="",
                                                  parts_minor=0, condition=None)
        quote = make.issue(order)
        made = make.authorise(order, [extra.id], conditions="ring before four")
        entry = authority.governing(order.id)
        assert entry is not None and entry.covers is AuthorityFor.QUOTE and entry.ceiling_minor == quote.at_most_minor
        assert (made.agreed_at, made.by_name, made.reached_at, made.taken_by, made.conditions) == (
            LATER, "Wren Adler", "555 0199", BY.name, "ring before four")
        assert [one.line_id for one in queries.agreed_lines(order)] == [line.id]
        assert [one.line_id for one in queries.declined_lines(order)] == [extra.id]
        assert made.added_minor == made.total_minor == queries.authorised_sum(order) == 20_295


def test_a_variation_says_what_was_added(context: Flask) -> None:
    with transaction():
        order = make.agreed_order()
        make.line(order, what="Replace the bias pot", hours=Hours.one(0.5), parts="", parts_minor=0, condition=None)
        make.issue(order, LATER)
        made = make.authorise(order, now=LATER + timedelta(hours=1))
        assert made.added_minor == 5225  # half an hour at 95.00 and 10 %
        assert made.authority.covers is AuthorityFor.VARIATION
        facts = estimate_facts(order)
        assert facts is not None and facts.answer is not None and facts.answer.is_variation
        assert [line.what for line in facts.answer.added] == ["Replace the bias pot"]
        assert (facts.answer.revision_before, facts.replaces, facts.could_rise_minor) == (1, 1, 0)


@pytest.mark.parametrize(("wrong", "field"), [
    ({"ceiling_minor": 20_294}, "ceiling_minor"),
    ({"reached_at": ""}, "reached_at"),
    ({"agreed_at": LATER + timedelta(hours=1)}, "agreed_at"),
    ({"agreed_at": NOW - timedelta(minutes=2)}, "agreed_at"),
    ({"channel": Channel.SIGNATURE}, "signature"),
    ({"decisions": {}}, "line_1"),
])
def test_an_answer_that_lacks_a_fact_is_refused_at_its_field(context: Flask, wrong: dict[str, object], field: str) -> None:
    with transaction():
        order = make.order_at()
        make.line(order)
        quote = make.issue(order)
        with pytest.raises(BadInput) as refused:
            answers_service.authorise(order, quote, make.answer(quote, **wrong), by=BY, now=LATER)
        assert refused.value.field == field.replace("line_1", f"line_{quote.lines[0].id}")


def test_only_the_newest_unchanged_and_valid_revision_is_answered(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        make.line(order)
        first = make.issue(order)
        month_later = NOW + timedelta(days=31)
        with pytest.raises(BadInput, match="valid until 1 Apr 2026"):
            make.authorise(order, now=month_later)
        make.line(order, what="Clean the controls")
        with pytest.raises(BadInput, match="Issue the next revision"):
            make.authorise(order)
        make.issue(order, LATER)
        with pytest.raises(BadInput, match="newer revision"):
            answers_service.authorise(order, first, make.answer(first), by=BY, now=LATER)


def test_a_withdrawn_entry_of_the_ledger_takes_the_answer_with_it(context: Flask) -> None:
    with transaction():
        order = make.agreed_order()
        standing = queries.authorisation(order)
        assert standing is not None
        authority.withdraw(standing.authority, "it was another customer", by=BY, now=LATER)
        session().flush()
        assert queries.authorisation(order) is None and queries.agreed_lines(order) == []


def test_declined_safety_is_acknowledged_and_the_finding_declined(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        finding = bench.finding(order)
        make.line(order)
        hazard = make.line(order, group=LineGroup.SAFETY, what="Replace the can", finding_id=finding.id)
        make.issue(order)
        make.authorise(order, [hazard.id])
        waiting = queries.to_acknowledge(order)
        assert [line.line_id for line in waiting] == [hazard.id] and waiting[0].risk == "H"
        make.acknowledge(order, waiting[0])
        assert finding.status is Status.DECLINED and queries.to_acknowledge(order) == []
        with pytest.raises(RuleBroken, match="waits for no"):
            make.acknowledge(order, waiting[0])
        make.issue(order, LATER)
        make.authorise(order, now=LATER + timedelta(hours=1), ceiling_minor=50_000)
        assert finding.status is not Status.DECLINED  # wanted after all: open again


@pytest.mark.parametrize(("wrong", "field"), [
    ({"hazard": ""}, "hazard"), ({"advice": " "}, "advice"), ({"made_safe": ""}, "made_safe"),
    ({"signer_name": ""}, "signer_name"), ({"signature": "M1 1"}, "signature"),
    ({"how": HowAcknowledged.REFUSED}, "witness"),
])
def test_an_acknowledgement_that_says_too_little_is_refused(context: Flask, wrong: dict[str, object], field: str) -> None:
    with transaction():
        order = make.order_at()
        make.line(order, group=LineGroup.SAFETY)
        make.issue(order)
        make.authorise(order, [queries.lines(order.id)[0].id])
        with pytest.raises(BadInput) as refused:
            make.acknowledge(order, queries.to_acknowledge(order)[0], **wrong)
        assert refused.value.field == field


def test_a_required_safety_line_that_is_declined_is_acknowledged_whatever_else_names_its_finding(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        finding = bench.finding(order)
        declined = make.line(order, group=LineGroup.SAFETY, what="Replace the can", finding_id=finding.id)
        make.line(order, group=LineGroup.SAFETY, what="Tighten the clamp of the can", finding_id=finding.id)
        make.issue(order)
        make.authorise(order, [declined.id])
        waiting = queries.to_acknowledge(order)
        assert [line.line_id for line in waiting] == [declined.id]
        make.acknowledge(order, waiting[0])
        assert queries.to_acknowledge(order) == []
        assert finding.status is not Status.DECLINED  # work on it was agreed to as well: it is not ended by this


@pytest.mark.parametrize(("agreed", "asked"), [(LineGroup.SAFETY, False), (LineGroup.COMPLAINT, False),
                                               (LineGroup.ADVISED, False), (LineGroup.OPTIONAL, True)])
def test_only_a_line_put_as_strongly_spares_the_acknowledgement_of_an_alternative(context: Flask, agreed: LineGroup,
                                                                                 asked: bool) -> None:
    with transaction():
        order = make.order_at()
        finding = bench.finding(order)
        declined = make.line(order, group=LineGroup.ADVISED, what="Replace all cans", finding_id=finding.id)
        make.line(order, group=agreed, what="Replace the can", finding_id=finding.id)
        make.issue(order)
        make.authorise(order, [declined.id])
        assert bool(queries.to_acknowledge(order)) is asked


@pytest.mark.parametrize("witness", ["Wren Adler", " wren  ADLER ", "Adler, Wren", "the console", "-"])
def test_nobody_witnesses_their_own_refusal(context: Flask, witness: str) -> None:
    with transaction():
        order = make.order_at()
        make.line(order, group=LineGroup.SAFETY)
        make.issue(order)
        make.authorise(order, [queries.lines(order.id)[0].id])
        with pytest.raises(BadInput) as refused:
            make.acknowledge(order, queries.to_acknowledge(order)[0], how=HowAcknowledged.REFUSED, witness=witness, signature="")
        assert refused.value.field == "witness"
        made = make.acknowledge(order, queries.to_acknowledge(order)[0], how=HowAcknowledged.REFUSED, witness="Ines Farrow",
                                signature="")
        assert made.witness == "Ines Farrow"


def test_the_diagnosis_comes_on_top_unless_it_is_credited(context: Flask) -> None:
    with transaction():
        order = make.order_at()
        sheets_service.offer(order, Offer(8500, False, 12_000), by=BY, now=NOW)
        make.line(order)
        quote = make.issue(order)
        assert quote.in_all_minor == 20_295 + 8500
        with pytest.raises(BadInput, match="AUD 287.95"):
            make.authorise(order, ceiling_minor=28_794)
        make.authorise(order, ceiling_minor=28_795)
        stands = costs.standing(order)
        assert (stands.committed_minor, stands.level) == (28_795, Level.WITHIN)


def test_nothing_is_written_on_an_order_that_ended(context: Flask) -> None:
    from app.orders.stages import End

    with transaction():
        order = make.order_at()
        line = make.line(order)
        order.ended_as, order.ended_at = End.UNREPAIRED, NOW
        for attempt in (lambda: make.line(order), lambda: make.issue(order),
                        lambda: lines_service.withdraw(line, "x", order=order, by=BY, now=NOW)):
            with pytest.raises(RuleBroken, match="has ended"):
                attempt()
