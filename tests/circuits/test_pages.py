"""The pages of the amp's sheet, driven as a technician does."""

from __future__ import annotations

import pytest
from flask import Flask

from app.circuits import queries
from app.circuits.models import AmpSheet
from app.circuits.rules.blocks import Given, Kind
from app.circuits.rules.work import work
from app.circuits.service import points
from app.db import session, transaction
from app.measuring.rules import Phase
from app.measuring.service import readings
from app.orders.models import RepairOrder
from tests import factories
from tests.circuits import make
from tests.factories import NOW
from tests.measuring import make as meters
from tests.pages import PageClient
from tests.people import BY


def begun(app: Flask, **given: object) -> int:
    with app.app_context(), transaction():
        order = factories.order()
        make.entered(order, **given)  # type: ignore[arg-type]
        return order.id


def test_a_sheet_is_begun_and_says_that_nothing_is_known(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    assert "it begins empty" in technician.get(f"/orders/{order_id}/sheet").words
    page = technician.post(f"/orders/{order_id}/sheet/begin", {}, form_on=f"/orders/{order_id}/sheet")
    assert "No block is on the sheet yet" in technician.get(f"/orders/{order_id}/sheet").words
    assert "Nothing can be calculated yet" in technician.get(f"/orders/{order_id}/sheet").words, page.words


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_of_block_has_its_form_and_may_be_left_unfinished(app: Flask, technician: PageClient, kind: Kind) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        make.entered(order, ())
        order_id = order.id
    at = f"/orders/{order_id}/sheet/blocks/new/{kind.name.lower()}"
    assert "drawn with the names of its values" in technician.get(at).text
    technician.post(at, {"name": "one"})
    page = technician.get(f"/orders/{order_id}/sheet")
    assert "one" in page.words and "is not entered" in page.words


def test_values_are_typed_as_at_the_bench_and_read_back(app: Flask, technician: PageClient) -> None:
    order_id = begun(app)
    with app.app_context():
        sheet = session().get(AmpSheet, 1)
        assert sheet is not None
        block = next(one for one in sheet.shown if one.name == "V1b")
    at = f"/orders/{order_id}/sheet/blocks/{block.id}"
    fields = technician.get(at).fields(at)
    assert fields["anode_ohm"] == "100k" and fields["cathode_ohm"] == "820"
    technician.post(at, {**fields, "anode_ohm": "220k", "cathode_ohm": "1k5", "cathode_ohm_place": "R9",
                         "cathode_ohm_tolerance": "5"})
    with app.app_context():
        sheet = session().get(AmpSheet, 1)
        assert sheet is not None
        here = sheet.as_entered.block("V1b")
        assert here is not None
        assert here.number("anode_ohm") == 220e3 and here.of("cathode_ohm").reference == "R9"
        assert here.of("cathode_ohm").tolerance == pytest.approx(0.05)


def test_a_value_out_of_range_is_refused_beside_it_and_kept(app: Flask, technician: PageClient) -> None:
    order_id = begun(app)
    at = f"/orders/{order_id}/sheet/blocks/new/mains"
    page = technician.post(at, {"name": "second mains", "tap_v": "24", "hz": "fifty"})
    assert "Enter 90 V to 260 V." in page.words and page.fields(at)["tap_v"] == "24" and page.fields(at)["hz"] == "fifty"


def test_all_pages_of_a_whole_sheet(app: Flask, technician: PageClient) -> None:
    order_id = begun(app)
    technician.post(f"/orders/{order_id}/sheet/points", {}, form_on=f"/orders/{order_id}/sheet/readings")
    page = technician.get(f"/orders/{order_id}/sheet/readings")
    assert "V1a anode" in page.words and "216.3 V" in page.words and "Take a reading" in page.words
    page = technician.get(f"/orders/{order_id}/sheet/drawing")
    assert "HT1  412\xa0V" in page.text
    assert "No reading fails" in technician.get(f"/orders/{order_id}/sheet/faults").words
    assert "Everything" not in technician.get(f"/orders/{order_id}/sheet").words
    assert "HT1" in technician.get(f"/orders/{order_id}/readings").words


def test_the_points_are_the_nodes_with_their_source(app: Flask, technician: PageClient) -> None:
    order_id = begun(app)
    technician.post(f"/orders/{order_id}/sheet/points", {}, form_on=f"/orders/{order_id}/sheet/readings")
    with app.app_context():
        order = session().get_one(RepairOrder, order_id)
        points = queries.points_by_node(order)
    assert points["V1a anode"].basis.startswith("calculated from the sheet at 246 V mains, 240 V tap")
    assert points["heaters AC"].quantity.value == "V AC" and points["heaters AC"].upper == pytest.approx(6.93)


def test_a_reading_that_fails_leads_to_a_proposal_and_the_proposal_to_a_finding_that_is_still_to_be_made(
        app: Flask, technician: PageClient) -> None:
    """V1a's anode resistor at 270k in place of 100k: 131.6 V (the sheet itself, worked with that value)."""
    with app.app_context(), transaction():
        order = factories.order()
        sheet = make.entered(order)
        points.lay_out(order, sheet, by=BY, now=NOW)
        session().flush()
        there, meter = queries.points_by_node(order), meters.instrument("M2")
        for node, typed in (("HT1", "411.2"), ("HT4", "336"), ("V1a anode", "131.6"), ("V1b anode", "186.9")):
            readings.take(order, readings.Taken.at(there[node], typed, meter, Phase.AS_FOUND, "idle", 246.0), by=BY, now=NOW)
        order_id = order.id
    page = technician.get(f"/orders/{order_id}/sheet/readings")
    assert "1 reading outside what is expected: V1a anode" in page.words
    page = technician.get(f"/orders/{order_id}/sheet/faults")
    assert "A proposal is never a verdict: the finding is yours" in page.words
    assert "R6, V1a anode resistor: drifted to about 270" in page.words and "next: it tells the first proposals apart" in page.words
    finding = next(link for link in page.links() if "/findings/new" in link)
    fields = technician.get(finding).fields(f"/orders/{order_id}/findings/new")
    assert fields["place"] == "R6, V1a anode resistor" and fields["observation"].startswith("V1a anode reads 131.6")
    assert not fields.get("cause"), "what it comes from is the technician's to say"


def test_two_faults_are_told_as_pairs_with_a_finding_for_each_of_the_two(app: Flask, technician: PageClient) -> None:
    """R6 at 270k and V3's tail at 33k: the sheet itself, worked with both values."""
    both = make.changed(make.changed(make.sheet(), "V1a", "anode_ohm", Given(270e3, reference="R6")), "V3", "tail_ohm", 33e3)
    volts = {one.node.name: one.now.value for one in work(both, 246.0).expected}
    with app.app_context(), transaction():
        order = factories.order()
        sheet = make.entered(order)
        points.lay_out(order, sheet, by=BY, now=NOW)
        session().flush()
        there, meter = queries.points_by_node(order), meters.instrument("M2")
        for node in ("HT1", "HT4", "V1a anode", "V1a cathode", "V3 anode 1", "V3 tail"):
            readings.take(order, readings.Taken.at(there[node], f"{volts[node]:.4g}", meter, Phase.AS_FOUND, "idle", 246.0),
                          by=BY, now=NOW)
        order_id = order.id
    page = technician.get(f"/orders/{order_id}/sheet/faults")
    assert "No single fault explains all of them well. Two at once would" in page.words
    assert "Two parts at once: R6, V1a anode resistor: drifted to about 270" in page.words
    assert "A proposal is never a verdict" in page.words and "next: it tells the first pairs apart most" in page.words
    assert "Record a finding: R6, V1a anode resistor" in page.words and "Record a finding: V3 tail, or lower load" in page.words
    finding = next(link for link in page.links() if "/findings/new" in link and "place=V3" in link)
    fields = technician.get(finding).fields(f"/orders/{order_id}/findings/new")
    assert fields["place"] == "V3 tail, or lower load" and "V3 tail reads" in fields["observation"]


def test_a_page_opened_before_anothers_save_is_not_saved_over_it(app: Flask, technician: PageClient) -> None:
    order_id = begun(app)
    at = f"/orders/{order_id}/sheet/conditions"
    fields = technician.get(at).fields(at)
    technician.post(at, {"mains_v": "240"})
    page = technician.send(at, {**fields, "mains_v": "230"}, status=409)
    assert "saved after you opened the page" in page.words
