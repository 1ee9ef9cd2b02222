"""What a paper says is gathered as frozen facts; their hash says whether an issued paper still holds, whatever it looks like."""

from __future__ import annotations

import dataclasses
import enum
import hashlib
import json
import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import jinja2
import pytest
from flask import Flask, current_app

from app.db import session, transaction
from app.documents import queries
from app.documents.models import IssuedDocument
from app.documents.paper import facts_of, paper
from app.documents.rules import Kind
from app.documents.service import issue as issue_made
from app.findings.queries import findings_of
from app.findings.rules.life import Disposition
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.findings.spec import FindingFacts
from app.handover.models import CollectionNotice
from app.intake.service import records as records_service
from app.kernel.facts import ASIDE, Comparison, Said, canonical, compare, fingerprint, newest_moment, since
from app.measuring.queries import instruments, points_of
from app.measuring.rules import Phase
from app.measuring.service import readings as readings_service
from app.money.models import Bill, CreditNote, MoneyEntry
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from app.photos import pins
from app.photos import queries as photos
from app.photos.models import Phase as When
from app.photos.rules import PLACES
from app.photos.store import the_store
from app.records.spec import AmpFacts
from app.shop.queries import the_shop
from app.shop.wording import Pack
from tests import factories
from tests.documents import make as story
from tests.documents.test_papers import issue
from tests.factories import NOW
from tests.handover import make as hand
from tests.pages import PageClient
from tests.people import BY

THEN, LATER = NOW + timedelta(hours=3), NOW + timedelta(hours=4)  # the soak run of the story ends after two hours


class Colour(enum.StrEnum):
    OXBLOOD = "oxblood"


@dataclasses.dataclass(frozen=True)
class Knob:
    colour: Colour
    turned: float
    seen: str = dataclasses.field(default="", metadata=ASIDE)


@dataclasses.dataclass(frozen=True)
class Panel:
    version: int
    at: datetime
    on: date
    knobs: tuple[Knob, ...]
    none: None = None
    newer: datetime | None = dataclasses.field(default=None, metadata=since(1))


def test_canonical_form_is_json_that_anybody_can_write_down() -> None:
    """By hand from RFC 8259 (no blank, keys in order) and RFC 3339 (moments in UTC)."""
    here = datetime(2026, 3, 2, 20, 30, tzinfo=timezone(timedelta(hours=11)))
    panel = Panel(3, here, date(2026, 3, 2), (Knob(Colour.OXBLOOD, 0.5, "by nobody"),))
    told = ('{"at":"2026-03-02T09:30:00+00:00","knobs":[{"colour":"oxblood","turned":0.5}],"newer":null,"none":null,'
            '"on":"2026-03-02","paper":"receipt","version":3}')
    assert json.dumps(canonical(panel)) != told  # the paper's kind is not in it yet
    assert fingerprint("receipt", panel) == hashlib.sha256(told.encode()).hexdigest()
    same = Panel(3, here.astimezone(UTC), date(2026, 3, 2), (Knob(Colour.OXBLOOD, 0.5, "by somebody"),))
    assert fingerprint("receipt", same) == fingerprint("receipt", panel)
    for other in (dataclasses.replace(panel, version=4), dataclasses.replace(panel, on=date(2026, 3, 3)),
                  dataclasses.replace(panel, knobs=(Knob(Colour.OXBLOOD, 0.25),)), dataclasses.replace(panel, knobs=())):
        assert fingerprint("receipt", other) != fingerprint("receipt", panel)
    assert fingerprint("report", panel) != fingerprint("receipt", panel)


@pytest.mark.parametrize("value", [{1, 2}, object(), float("nan"), datetime(2026, 3, 2), b"bytes"])  # noqa: DTZ001
def test_what_has_no_one_form_is_refused(value: object) -> None:
    with pytest.raises((TypeError, ValueError)):
        fingerprint("receipt", Panel(1, NOW, NOW.date(), (value,)))  # type: ignore[arg-type]


def test_newest_moment_leaves_out_what_an_older_paper_did_not_say() -> None:
    panel = Panel(1, NOW, NOW.date(), (), newer=LATER)
    assert newest_moment(panel, 1) == LATER and newest_moment(panel, 0) == NOW


def test_a_paper_of_another_version_is_compared_by_its_moments() -> None:
    stands = Said(1, "a", NOW)
    assert compare(stands, Said(1, "a", NOW)) is Comparison.SAME
    assert compare(stands, Said(1, "b", NOW)) is Comparison.CHANGED
    assert compare(Said(0, "x", NOW), stands) is Comparison.NOT_TOLD
    assert compare(Said(0, "x", NOW), Said(1, "a", LATER)) is Comparison.CHANGED


# Values that are on paper are found frozen, all the way down.

def values_in(facts: Any) -> Iterator[Any]:
    yield facts
    if isinstance(facts, tuple):
        for one in facts:
            yield from values_in(one)
    elif dataclasses.is_dataclass(facts) and not isinstance(facts, type):
        for field in dataclasses.fields(facts):
            yield from values_in(getattr(facts, field.name))


def every_paper(order: RepairOrder) -> list[tuple[Kind, int]]:
    noticed = session().query(CollectionNotice).first()
    return [(Kind.RECEIPT, 0), (Kind.ESTIMATE, 0), (Kind.REPORT, 0), (Kind.UNREPAIRED, 0),
            *([(Kind.NOTICE, noticed.id)] if noticed else []),
            *((kind, one.id) for kind, kept in ((Kind.BILL, Bill), (Kind.CREDIT, CreditNote), (Kind.PAYMENT, MoneyEntry))
              if (one := session().query(kept).first()))]


def test_every_paper_stands_on_frozen_facts_with_a_version(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        hand.settle_all(order, 8500)
        hand.sign(order)
        hand.leaves_unrepaired(order)
        hand.notice(order, NOW.date())
        hand.pay(order, 8000)
    papers = every_paper(order)
    assert len(papers) == len(Kind)
    for kind, about in papers:
        facts = facts_of(order, kind, about)
        assert facts.version >= 1
        for one in values_in(facts):
            plain = one is None or isinstance(one, str | int | float | date | datetime | tuple)
            assert plain or (dataclasses.is_dataclass(one) and one.__dataclass_params__.frozen), (kind, one)
        assert paper(order, kind, about).facts_sha256 == fingerprint(kind.value, facts)


def ready() -> RepairOrder:
    order = story.repaired(story.quoted(story.taken_in()))
    hand.settle_all(order, 8500)
    hand.sign(order)
    return order


def at(order: RepairOrder) -> RepairOrder:
    return session().get_one(RepairOrder, order.id)


def all_hashes(order: RepairOrder) -> list[str]:
    return [paper(order, kind, about).facts_sha256 for kind, about in every_paper(order)]


def test_looks_do_not_make_an_issued_paper_old(context: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new telephone, the other words and a comma in a template are how it is said, not what."""
    with transaction():
        order = ready()
        hand.leaves_unrepaired(order)
        hand.notice(order, NOW.date())
    for kind in (Kind.REPORT, Kind.UNREPAIRED):
        issue(order, kind)
    with transaction():
        hand.tie(at(order))
    before, page = all_hashes(order), paper(order, Kind.REPORT).page
    with transaction():
        shop = the_shop()
        shop.phone, shop.address, shop.wording, shop.licence = "555 0999", "5 Highgate", Pack.TUBE, "EL 4471"
    assert "555 0999" in paper(order, Kind.REPORT).page != page
    assert all_hashes(order) == before
    loader = current_app.jinja_env.loader
    assert loader is not None

    def with_a_comma(environment: jinja2.Environment, template: str) -> tuple[str, str | None, Any]:
        source, name, _ = loader.get_source(environment, template)
        return source.replace("You told us:", "You told us, in your words:"), name, lambda: True

    monkeypatch.setattr(current_app.jinja_env, "loader", jinja2.FunctionLoader(
        lambda name: with_a_comma(current_app.jinja_env, name)))
    monkeypatch.setattr(current_app.jinja_env, "cache", {})
    assert "You told us, in your words:" in paper(order, Kind.REPORT).page
    assert all_hashes(order) == before
    assert missing_in(at(order), Stage.RETURN) == ()
    assert not [one for one in missing_in(at(order), End.UNREPAIRED) if one.endpoint.startswith("documents.")]


def reading_changed(order: RepairOrder) -> None:
    taken = readings_service.Taken.at(points_of(order)[0], "440", instruments()[0], Phase.AS_LEFT, "at idle", 241.0)
    readings_service.take(order, taken, by=BY, now=LATER)


def finding_changed(order: RepairOrder) -> None:
    finding = findings_of(order)[0]
    outcome_service.reopen(finding, reason="looked at again", by=BY, now=LATER)
    outcome_service.decide(finding, Disposition.REPLACE_LIKE, words="A new carrier again.", by=BY, now=LATER)
    outcome_service.act_on(finding, words="New carrier, T 1.6 A fitted.", by=BY, now=LATER)
    outcome_service.prove(finding, result="marking photographed, running current 0.70 A", by=BY, now=LATER)


def finding_added(order: RepairOrder) -> None:
    facts = FindingFacts(area=findings_of(order)[0].area, observation="One more.", severity=0)
    findings_service.record_finding(order, facts, by=BY, now=LATER)


def money_changed(order: RepairOrder) -> None:
    hand.settle_all(order, 7000, now=LATER)


def amp_changed(order: RepairOrder) -> None:
    amp = order.amp
    facts = AmpFacts(amp.maker, amp.model, "M30-0118", amp.mains_marking, amp.protection_class)
    records_service.change_amp(amp, facts, by=BY, now=LATER)


def photo_changed(order: RepairOrder) -> None:
    finding = findings_of(order)[0]
    pins.drop(story.picture(order, "fuse", now=LATER), "finding", finding.id, "1", by=BY, now=LATER)


def signed_again(order: RepairOrder) -> None:
    hand.sign(order, name="Corin Adler", now=LATER)


CHANGES = (reading_changed, finding_changed, finding_added, money_changed, amp_changed, photo_changed, signed_again)


@pytest.mark.parametrize("change", CHANGES)
def test_what_changes_makes_an_issued_report_old_and_shuts_the_gate(context: Flask, change: Any) -> None:
    with transaction():
        order = ready()
    issue(order, Kind.REPORT)
    assert "documents.twin" not in {one.endpoint for one in missing_in(at(order), Stage.RETURN)}
    with transaction():
        change(at(order))
    assert "documents.twin" in {one.endpoint for one in missing_in(at(order), Stage.RETURN)}
    issue(order, Kind.REPORT)
    assert "documents.twin" not in {one.endpoint for one in missing_in(at(order), Stage.RETURN)}


def test_a_changed_line_makes_an_issued_quote_old(context: Flask) -> None:
    from tests.quote import make as quotes

    with transaction():
        order = story.quoted(story.taken_in())
    issued = issue(order, Kind.ESTIMATE)
    assert paper(order, Kind.ESTIMATE).facts_sha256 == issued.facts_sha256
    with transaction():
        quotes.line(at(order), what="Bias set to the middle of its range")
        quotes.issue(at(order))
    assert paper(order, Kind.ESTIMATE).facts_sha256 != issued.facts_sha256


def from_an_earlier_version(order: RepairOrder, kind: Kind) -> IssuedDocument:
    """Issued as 0.1.0 did: its fingerprint is that of the page, and no version of facts is written down."""
    ready_ = paper(order, kind)
    page = the_store().put(ready_.page.encode())
    with transaction():
        made = IssuedDocument(
            order_id=order.id, kind=kind, about_id=0, revision=1, sha256=page, page_sha256=page, facts_sha256=page,
            media_type="text/html", size=1, journal_hash="0" * 64, issued_at=THEN, issued_by="Counter")
        session().add(made)
    return made


def test_an_upgrade_alone_shuts_no_gate(context: Flask) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        hand.settle_all(order, 8500)
    assert from_an_earlier_version(order, Kind.REPORT).facts_version == 0
    with transaction():
        hand.sign(at(order), now=LATER)  # the report of 0.1.0 did not hold the signature: it was given for it
    assert missing_in(at(order), Stage.RETURN) == ()


@pytest.mark.parametrize("change", [one for one in CHANGES if one not in (amp_changed, photo_changed, signed_again)])
def test_what_changes_after_the_upgrade_is_seen_by_its_moment(context: Flask, change: Any) -> None:
    with transaction():
        order = ready()
    from_an_earlier_version(order, Kind.REPORT)
    with transaction():
        change(at(order))
    assert "documents.twin" in {one.endpoint for one in missing_in(at(order), Stage.RETURN)}


def test_twin_says_what_it_cannot_tell_of_an_earlier_version(app: Flask, counter: PageClient) -> None:
    with app.app_context():
        with transaction():
            order = ready()
        order_id = order.id
        from_an_earlier_version(order, Kind.REPORT)
    page = counter.get(f"/orders/{order_id}/papers/report")
    assert "issued by an earlier version of Tagstrip" in page.words and "compare the two by eye" in page.words
    assert "says just this" not in page.words


# One pairing of photos, for screen and paper alike.

def test_paper_and_screen_pair_photos_alike(context: Flask) -> None:
    with transaction():
        order = factories.order()
        first = story.picture(order, PLACES[0], caption="left half")
        second = story.picture(order, PLACES[0], caption="right half")
        again = story.picture(order, PLACES[0], When.AS_LEFT, caption="right half")
        told = story.picture(order, "rear")
        match = story.picture(order, "back, seen again", When.AS_LEFT)
        match.same_view_as_id = told.id
        alone = story.picture(order, "controls", caption="before")
        after = story.picture(order, "controls", When.AS_LEFT, caption="cleaned")
    on_screen = [(pair.found.id, pair.left.id) for pair in photos.pairs(order.id) if pair.found and pair.left]
    assert set(on_screen) == {(second.id, again.id), (told.id, match.id), (alone.id, after.id)}
    on_paper = [(pair.found.photo_id, pair.left.photo_id) for pair in facts_of(order, Kind.REPORT).pairs if pair.left]
    assert on_paper == on_screen and first.id not in {found for found, _ in on_paper}


def test_a_close_up_sent_with_a_finding_prints_beside_where_it_is_pinned(context: Flask) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        finding = findings_of(order)[0]
        close_up = story.picture(order, "fuse carrier", caption="the strand, close up")
        pins.drop(close_up, "finding", finding.id, "1", by=BY, now=NOW)
    page = paper(order, Kind.REPORT).page
    assert page.count(f"paper:photo/{close_up.id}/") == 1 and "the strand, close up" in page
    pinned = pins.of_record("finding", finding.id)[0].photo
    assert f"paper:photo/{pinned.id}/" in page


def test_issued_row_says_its_version(context: Flask) -> None:
    with transaction():
        order = story.taken_in()
    issued = issue(order, Kind.RECEIPT)
    assert issued.facts_version == facts_of(order, Kind.RECEIPT).version
    newest = queries.newest(order.id, Kind.RECEIPT)
    assert newest is not None and newest.id == issued.id and issue_made is not None


def test_facts_folder_is_not_one_that_tools_skip() -> None:
    here = Path(__file__).resolve().parent.parent.parent / "app/documents"
    assert not (here / "build").exists() and (here / "papers").is_dir()
    for kind in Kind:
        assert re.search(r"^def facts\(", (here / "papers" / f"{kind.value}.py").read_text(), re.M), kind
