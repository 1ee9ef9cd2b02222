"""The ripple of every rail as a test point: its true rms, its band, and a reading of it held against both.

The ripple itself is checked against ngspice in `tests/reference` (test_ngspice_supplies, _filter_chain, _sheets).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from flask import Flask

from app.circuits import queries
from app.circuits.rules.compare import Known, Read, Source, rows
from app.circuits.rules.ripple import LEADS_V, LIKELY_SD, band_of_ripple, spread_of_currents, spread_of_ripples
from app.circuits.rules.supply import rails_of
from app.circuits.rules.work import solved, used, work
from app.circuits.service import points
from app.db import session, transaction
from app.electrics import RC, capacitor_input, filter_chain
from app.measuring.rules import Phase, Quantity, Verdict
from app.measuring.service import readings
from app.orders.models import RepairOrder
from tests import factories
from tests.circuits import make
from tests.factories import NOW
from tests.measuring import make as meters
from tests.pages import PageClient
from tests.people import BY

WHOLE = make.sheet()


def test_the_rms_of_a_sawtooth_and_of_what_a_filter_leaves() -> None:
    """A large reservoir's ripple is a sawtooth, peak to peak by the root of 12; behind a filter a sine, by twice the root of 2.

    Both are the root of the mean square of those shapes (mathematics).
    """
    supply = capacitor_input(secondary_vrms=300, rectifier="bridge", source_ohm=0.5, reservoir_farad=470e-6, mains_hz=50,
                             load_a=0.02)
    assert supply.ripple_vrms == pytest.approx(supply.ripple_vpp / math.sqrt(12.0), rel=0.02)
    after = filter_chain(supply, (RC(4700, 47e-6, 0.01), RC(4700, 47e-6, 0.002)))[-1]
    assert after.ripple_vrms == pytest.approx(after.ripple_vpp / math.sqrt(8.0), rel=0.03)


def test_every_rail_has_its_ripple_with_band_frequency_and_peak_to_peak() -> None:
    found = {one.node.name: one for one in work(WHOLE, 246.0).expected if one.node.ripple}
    assert list(found) == ["HT1 ripple", "HT2 ripple", "HT3 ripple", "HT4 ripple"]
    backwards = work(replace(WHOLE, blocks=WHOLE.blocks[::-1]), 246.0)
    assert [one.name for one in backwards.rails] == ["HT1", "HT2", "HT3", "HT4"], "in the order of the chain, however entered"
    rails = {one.name: one for one in solved(WHOLE, 246.0).rails}
    for name, one in found.items():
        rail = rails[name.removesuffix(" ripple")]
        assert one.now.value == rail.ripple_vrms and 0.0 <= one.now.low < one.now.value < one.now.high
        assert one.node.ac and not one.node.mains and "100 Hz" in one.words and "peak to peak" in one.words
        assert one.at_tap.value == pytest.approx(one.now.value * 240 / 246, rel=0.05)
    assert "18 V peak to peak" in found["HT1 ripple"].words
    half = make.changed(WHOLE, "rectifier", "arrangement", "half wave")
    assert "50 Hz" in next(one.words for one in work(half, None).expected if one.node.ripple)


def test_a_supply_that_is_not_known_has_no_ripple() -> None:
    expected = work(make.without(WHOLE, "HT1", "farad"), None).expected
    assert not [one for one in expected if one.node.ripple]
    assert not [one for one in work(make.sheet(make.PUSH_PULL[:1], whole=False), None).expected if one.node.ripple]


@pytest.mark.parametrize("which", [make.PUSH_PULL, make.CATHODE_BIASED])
def test_ninety_five_in_a_hundred_amps_within_their_tolerances_lie_in_the_band(
        which: tuple[tuple[object, str, dict[str, object]], ...]) -> None:
    """The band goes by slopes; here every part is drawn within its tolerance and the whole chain solved anew."""
    here = make.sheet(which)  # type: ignore[arg-type]
    now = solved(here, None)
    spreads = spread_of_ripples(here, now.made, now.rails, used(now.made))
    (feed,) = now.made.feeds.values()
    rng, count = np.random.default_rng(4), 150
    inside = dict.fromkeys(spreads, 0)
    sd = spread_of_currents(now.made, used(now.made))[feed.reservoir]
    drawn = {one.name: one.current_a for one in now.rails}
    bands = {one.name: band_of_ripple(one.ripple_vrms, spreads[one.name]) for one in now.rails}
    for _ in range(count):
        other = here
        for rail in drawn:
            block = here.block(rail)
            assert block is not None
            for field in ("farad", "ohm", "henry"):
                given = block.of(field)
                if given.number is not None:
                    part = given.number * (1 + rng.uniform(-1, 1) * {"farad": 0.2, "ohm": 0.1, "henry": 0.2}[field])
                    other = make.changed(other, rail, field, replace(given, number=part))
        times = 1 + sd * float(rng.normal())
        other_feed = replace(feed, farad=other.block(feed.reservoir).number("farad"))  # type: ignore[union-attr]
        for one in rails_of(other_feed, other, {name: amp * times for name, amp in drawn.items()}):
            inside[one.name] += bands[one.name][0] <= one.ripple_vrms <= bands[one.name][2]
    for name, hits in inside.items():
        assert hits >= 0.92 * count, (name, hits)
    # And no wider than it must be: the first rail's by its capacitor and the current alone.
    assert spreads[feed.reservoir] == pytest.approx(LIKELY_SD * math.hypot(-math.log(0.8) / math.sqrt(3.0), sd))
    assert inside[feed.reservoir] < count


def test_a_measured_capacitor_narrows_the_band() -> None:
    def spread(here: object) -> float:
        now = solved(here, 240.0)  # type: ignore[arg-type]
        return spread_of_ripples(here, now.made, now.rails, used(now.made))["HT1"]  # type: ignore[arg-type]

    assert spread(make.changed(WHOLE, "HT1", "farad", make.Given(47e-6, tolerance=0.02))) < 0.8 * spread(WHOLE)


def test_what_leads_pick_up_is_not_called_ripple() -> None:
    """HT4 has microvolts: a reading of millivolts there is the leads', and no fault."""
    low, value, high = band_of_ripple(17e-6, 0.5)
    assert low == 0.0 and value == 17e-6 and LEADS_V < high < 1.1 * LEADS_V


def test_a_reading_is_carried_by_its_mains_and_judged_in_volts_ac() -> None:
    """Ripple follows the mains as the supply does; at twice its band the reservoir has dried."""
    worked = work(WHOLE, 246.0)
    known = Known(as_found={"HT1 ripple": Read(14.0, uncertainty=0.2, mains_v=240.0), "HT2 ripple": Read(0.16, uncertainty=0.005,
                                                                                                       mains_v=240.0)})
    found = {row.node: row for row in rows(worked, known, first=Source.CALCULATED, mains_v=246.0, tap_v=240.0)}
    bad, good = found["HT1 ripple"], found["HT2 ripple"]
    assert bad.unit == good.unit == "V AC"
    assert bad.as_found is not None and bad.as_found.verdict is Verdict.FAIL
    assert bad.as_found.carried == pytest.approx(14.0 * 246 / 240)
    assert good.as_found is not None and good.as_found.verdict is Verdict.PASS
    assert "true rms without the DC, 100 Hz" in bad.as_found.why


def test_a_dried_reservoir_shows_in_its_ripple() -> None:
    here = {one.node.name: one.now for one in work(WHOLE, 240.0).expected}
    dried = {one.node.name: one.now for one in work(make.changed(WHOLE, "HT1", "farad", 10e-6), 240.0).expected}
    assert dried["HT1 ripple"].value > here["HT1 ripple"].high
    assert here["HT1"].low < dried["HT1"].value, "its volts alone would not have told"


def test_the_test_points_are_in_volts_ac_and_one_outside_is_said_to_be_not_searched(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        sheet = make.entered(order)
        points.lay_out(order, sheet, by=BY, now=NOW)
        session().flush()
        there, meter = queries.points_by_node(order), meters.instrument("M2")
        assert there["HT1 ripple"].quantity is Quantity.VOLT_AC and there["HT1"].quantity is Quantity.VOLT_DC
        assert "true rms without the DC, 100 Hz; 18 V peak to peak" in there["HT1 ripple"].basis
        readings.take(order, readings.Taken.at(there["HT1 ripple"], "19.4", meter, Phase.AS_FOUND, "idle", 246.0), by=BY, now=NOW)
        order_id = order.id
    page = technician.get(f"/orders/{order_id}/sheet/readings")
    assert "1 reading outside what is expected: HT1 ripple" in page.words
    assert "the whole DC of the rail stands across probes" in page.words
    page = technician.get(f"/orders/{order_id}/sheet/faults")
    assert "Outside the band in volts AC: HT1 ripple. Faults are searched by volts DC alone" in page.words
    assert "No single fault that was tried" not in page.words and "No reading fails" not in page.words
    with app.app_context():
        assert queries.of_order(session().get_one(RepairOrder, order_id)) is not None
