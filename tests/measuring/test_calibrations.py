"""A calibration that comes back out of tolerance: which readings it puts in doubt, what settles each, and what it holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup.verify import STORED
from app.db import session, transaction
from app.discharge import queries as discharge
from app.errors import BadInput, RuleBroken
from app.gates import GATES
from app.measuring import doubts, queries
from app.measuring import gate as measuring_gate
from app.measuring.calibration import Calibration, DoubtedReading
from app.measuring.models import Instrument, Reading
from app.measuring.rules import Inputs, Phase, Quantity, Relation, State, Statement, Verdict
from app.measuring.service import calibrations as service
from app.measuring.service import readings as readings_service
from app.measuring.service.calibrations import Certified
from app.measuring.service.readings import Taken
from app.measuring.tolerance import Calibrated, ErrorFound, Settled, could_have_been, margin, worst_of
from app.orders.gates import Gate
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from tests import factories
from tests.discharge import make as charged
from tests.factories import NOW
from tests.measuring import make
from tests.pages import PageClient
from tests.people import BY

LATER = NOW + timedelta(days=40)
FINE = Statement(Quantity.OHM, 20, 1, 3, 0.001)
V2 = ErrorFound(Quantity.VOLT_DC, 0, 600, 2.0, 0)


def outside(error: ErrorFound = V2, **given: object) -> Certified:
    facts = {"done_on": LATER.date(), "laboratory": "Tarn Metrology", "found": Calibrated.OUTSIDE, "error": error,
             "good_on": date(2025, 6, 1), "due_on": date(2099, 1, 1), **given}
    return Certified(**facts)  # type: ignore[arg-type]


def safety_reading(order: RepairOrder, meter: Instrument, typed: str = "0.28") -> Reading:
    taken = Taken("Earth, plug to chassis", Quantity.OHM, typed, meter, upper=0.3, basis="a limit")
    return readings_service.take(order, taken, by=BY, now=NOW)


def test_a_reading_stands_for_what_the_error_lets_it() -> None:
    """shown = true × (1 ± e) ± fixed. 98 V shown by a meter 2 % low at most: 98 / 0.98 = 100 V; and 98 / 1.02 = 96.08 V."""
    low, high = could_have_been(98.0, V2)
    assert (low, high) == pytest.approx((98 / 1.02, 100.0))
    assert could_have_been(0.25, ErrorFound(Quantity.OHM, 0, 1, 0, 0.03)) == pytest.approx((0.22, 0.28))
    assert could_have_been(-50.0, ErrorFound(Quantity.VOLT_DC, 0, 60, 10, 0)) == pytest.approx((-50 / 0.9, -50 / 1.1))


def test_ranges_concern_their_own_readings_only() -> None:
    low_range = ErrorFound(Quantity.VOLT_DC, 0, 60, 5, 0)
    assert low_range.covers(Quantity.VOLT_DC, -60) and not low_range.covers(Quantity.VOLT_DC, 60.1)
    assert not low_range.covers(Quantity.VOLT_AC, 30) and not replace(low_range, above=60.0).covers(Quantity.VOLT_DC, 59)
    assert low_range.words == "V DC, 0 V to 60 V: ±(5 %)"


@pytest.mark.parametrize(("value", "worst"), [(57.0, Verdict.PASS), (58.9, Verdict.UNDECIDED), (59.5, Verdict.FAIL)])
def test_the_worst_that_it_can_come_to(value: float, worst: Verdict) -> None:
    """At most 60 V, ±0.3 V: 57 / 0.98 = 58.2 passes, 58.9 / 0.98 = 60.1 is in doubt, 59.5 / 0.98 = 60.7 fails."""
    assert worst_of(Inputs(value, Relation.IS, None, 60.0, 0.3), [V2]) is worst


def test_the_margin_is_to_the_nearest_limit() -> None:
    assert margin(Inputs(90, Relation.IS, 50, 100, 1)) == pytest.approx(0.1) and margin(Inputs(1, Relation.IS, None, None, 1)) > 1e9


def test_out_of_tolerance_doubts_by_range_and_day_safety_first(context: Flask) -> None:
    with transaction():
        order, meter, other = factories.order(), make.instrument(), make.instrument("M3", serial="7")
        point = make.point(order)
        shaky = readings_service.take(order, Taken.at(point, "449", meter), by=BY, now=NOW)
        readings_service.take(order, Taken.at(point, "438", meter), by=BY, now=NOW)
        readings_service.take(order, Taken.at(make.point(order, "HT2"), "449", other), by=BY, now=NOW)
        touch = readings_service.take(order, Taken("Touch", Quantity.VOLT_DC, "59", meter, upper=60.0, basis="l"), by=BY, now=NOW)
        service.record_calibration(meter, outside(ErrorFound(Quantity.VOLT_DC, 100, 600, 2, 0)), by=BY, now=LATER)
        made = session().scalars(sa.select(Calibration)).one()
        assert [one.reading for one in made.doubts] == [shaky]
        service.add_error(made, ErrorFound(Quantity.VOLT_DC, 0, 100, 2, 0), by=BY, now=LATER)
    found = doubts.with_orders(made)
    assert [one.doubt.reading for one in found] == [touch, shaky]
    assert meter.calibrated_on == LATER.date() and meter.due_on == date(2099, 1, 1)
    with transaction():
        after = service.record_calibration(other, outside(good_on=NOW.date() + timedelta(days=1), note="checked"), by=BY, now=LATER)
    assert after.doubts == []


def test_within_tolerance_doubts_nothing_and_takes_no_error(context: Flask) -> None:
    with transaction():
        meter = make.instrument()
        with pytest.raises(BadInput, match="Choose one"):
            service.record_calibration(meter, outside(found=Calibrated.WITHIN, good_on=None), by=BY, now=LATER)
        made = service.record_calibration(meter, outside(found=Calibrated.WITHIN, good_on=None, error=None), by=BY, now=LATER)
        with pytest.raises(RuleBroken, match="within tolerance"):
            service.add_error(made, V2, by=BY, now=LATER)
    assert made.doubts == []


@pytest.mark.parametrize(("given", "field"), [
    ({"good_on": None}, "good_on"), ({"error": None}, "percent"), ({"laboratory": " "}, "laboratory"),
    ({"done_on": date(2999, 1, 1), "due_on": None}, "done_on"), ({"due_on": date(2020, 1, 1)}, "due_on"),
    ({"error": replace(V2, percent=95.0)}, "percent"), ({"error": replace(V2, above=600.0)}, "up_to"),
    ({"error": replace(V2, up_to=float("inf"))}, "up_to"), ({"good_on": date(2998, 1, 1)}, "good_on")])
def test_what_a_calibration_must_say(context: Flask, given: dict[str, object], field: str) -> None:
    with transaction(), pytest.raises(BadInput) as wrong:
        service.record_calibration(make.instrument(), outside(**given), by=BY, now=LATER)
    assert wrong.value.field == field


def test_an_amp_in_the_house_is_held_until_it_was_measured_again(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument(stated=(make.METER[0], FINE))
        safety_reading(order, meter, "0.2")
    with transaction():
        wrong = ErrorFound(Quantity.OHM, 0, 1, 0, 0.15)
        service.record_calibration(meter, outside(wrong), by=BY, now=LATER)
        doubt = session().scalars(sa.select(DoubtedReading)).one()
    assert [one.endpoint for one in measuring_gate.no_reading_in_doubt(order)] == ["instruments.doubt"]
    assert "is in doubt" in measuring_gate.earth_in_doubt(order)
    assert Gate(Stage.SAFETY_TEST, measuring_gate.no_reading_in_doubt) in GATES
    with transaction():
        for how, words in ((Settled.CALLED, "rang"), (Settled.HARMLESS, "it is fine")):
            with pytest.raises(BadInput, match="still here"):
                service.settle_doubt(doubt, how, words=words, by=BY, now=LATER)
        with pytest.raises(BadInput, match="no later reading"):
            service.settle_doubt(doubt, Settled.MEASURED, by=BY, now=LATER)
    with transaction():
        good = make.instrument("M9", stated=(FINE,), due_on=date(2099, 1, 1))
        taken = Taken("Earth, plug to chassis", Quantity.OHM, "0.21", good, upper=0.3, basis="a limit")
        again = readings_service.take(order, taken, by=BY, now=LATER + timedelta(hours=1))
        service.settle_doubt(doubt, Settled.MEASURED, by=BY, now=LATER + timedelta(hours=2))
        assert doubt.again is again
        with pytest.raises(RuleBroken, match="settled already"):
            service.settle_doubt(doubt, Settled.MEASURED, by=BY, now=LATER)
    assert measuring_gate.no_reading_in_doubt(order) == [] and measuring_gate.earth_in_doubt(order) == ""


def test_a_reading_before_the_calibration_or_by_a_meter_out_of_date_settles_nothing(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument(stated=(FINE,))
        late = make.instrument("M8", stated=(FINE,))  # due in June 2026
        safety_reading(order, meter, "0.2")
        safety_reading(order, make.instrument("M9", stated=(FINE,)), "0.2")
        service.record_calibration(meter, outside(ErrorFound(Quantity.OHM, 0, 1, 0, 0.15)), by=BY, now=LATER)
        doubt = session().scalars(sa.select(DoubtedReading)).one()
        assert doubts.measured_again(doubt) is None
        taken = Taken("Earth, plug to chassis", Quantity.OHM, "0.2", late, upper=0.3, basis="a limit")
        readings_service.take(order, taken, by=BY, now=NOW + timedelta(days=400))
        assert doubts.measured_again(doubt) is None


@pytest.mark.parametrize("typed", ["0.45", "0.299"])
def test_a_later_reading_that_did_not_pass_settles_nothing(context: Flask, typed: str) -> None:
    """Outside the limit, or too close to it to tell: the doubt is no smaller for it. Only the newest reading speaks."""
    with transaction():
        order, meter = factories.order(), make.instrument(stated=(FINE,))
        safety_reading(order, meter, "0.2")
        service.record_calibration(meter, outside(ErrorFound(Quantity.OHM, 0, 1, 0, 0.15)), by=BY, now=LATER)
        doubt = session().scalars(sa.select(DoubtedReading)).one()
        good = make.instrument("M9", stated=(FINE,), due_on=date(2099, 1, 1))
        for hours, value in ((1, "0.2"), (2, typed)):
            taken = Taken("Earth, plug to chassis", Quantity.OHM, value, good, upper=0.3, basis="a limit")
            readings_service.take(order, taken, by=BY, now=LATER + timedelta(hours=hours))
        with pytest.raises(BadInput, match="did not pass"):
            service.settle_doubt(doubt, Settled.MEASURED, by=BY, now=LATER + timedelta(hours=3))
        assert doubt.settled is None


def test_a_reading_in_doubt_is_expected_of_no_other_amp(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        point = make.point(order)
        point.node = "B+1"
        readings_service.take(order, Taken.at(point, "438", meter), by=BY, now=NOW)
        other = factories.order(amp=factories.amp(serial="M7-2"))
        assert [one.volt for one in queries.left_at_nodes(other)] == [438.0]
        service.record_calibration(meter, outside(ErrorFound(Quantity.VOLT_DC, 0, 600, 5, 0)), by=BY, now=LATER)
        assert queries.left_at_nodes(other) == []


def test_an_amp_that_has_left_is_called_for(app: Flask, technician: PageClient, counter: PageClient) -> None:
    with app.app_context():
        with transaction():
            order, meter = factories.order(), make.instrument(stated=(FINE,))
            safety_reading(order, meter, "0.2")
            here, number, phone = meter.id, order.id, order.owner.phone
        with transaction():
            order.ended_as, order.ended_at = End.REPAIRED, NOW
    page = technician.post(f"/instruments/{here}/calibrations/add", {
        "done_on": "2026-04-10", "laboratory": "Tarn Metrology", "found": "out of tolerance", "good_on": "2025-06-01",
        "quantity": "Ω", "up_to": "1", "fixed": "150m", "state": "in service", "due_on": "2099-01-01"})
    assert "1 reading is in doubt" in page.words and phone in page.words
    assert f"tel:{phone.replace(' ', '')}" in page.links()
    assert "1 reading is in doubt" in technician.get("/").words
    assert "Settle it" in technician.get("/instruments/doubts").words
    assert "Settle it" not in counter.get("/instruments/doubts").words
    with app.app_context():
        doubt = session().scalars(sa.select(DoubtedReading)).one().id
    settle = f"/instruments/doubts/{doubt}"
    assert "not to use the amp" in technician.get(settle).words
    assert "Enter whom you reached" in technician.post(settle, {"how": "customer called", "words": ""}).words
    page = technician.post(settle, {"how": "customer called", "words": "Reached at 10:20; they bring it on Monday."})
    assert "customer called" in page.words
    assert "No reading is in doubt" in technician.get("/instruments/doubts").words
    assert f"/orders/{number}" in page.links()


def test_a_worse_range_opens_what_was_shown_harmless(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        point = make.point(order)
        readings_service.take(order, Taken.at(point, "449", meter, Phase.AS_FOUND), by=BY, now=NOW)
        made = service.record_calibration(meter, outside(ErrorFound(Quantity.VOLT_DC, 0, 600, 1, 0)), by=BY, now=LATER)
        doubt = made.doubts[0]
        assert doubt.worst is Verdict.UNDECIDED and not doubt.holds
        service.settle_doubt(doubt, Settled.HARMLESS, words="It was read as found only.", by=BY, now=LATER)
        assert service.add_error(made, ErrorFound(Quantity.VOLT_DC, 300, 600, 3, 0), by=BY, now=LATER) == [doubt]
        assert doubt.settled is None and doubt.worst is Verdict.FAIL


def test_a_discharge_measured_with_it_shows_nothing_any_more(context: Flask) -> None:
    """20 V on a capacitor under a limit of 60 V, by a meter that may have shown a third of the truth: 20 / 0.3 = 67 V."""
    with transaction():
        order = factories.order()
        record = charged.discharged(order)
        meter = session().get_one(Instrument, record.instrument_id)
        most = max(abs(one.value) for one in record.readings)
    assert discharge.is_discharged(order)
    with transaction():
        far = ErrorFound(Quantity.VOLT_DC, 0, 1000, 0, record.limit_volts - most + 1)
        service.record_calibration(meter, outside(far, done_on=record.at.date()), by=BY, now=LATER)
    assert not discharge.is_discharged(order)
    found = discharge.state(order.id)
    assert found is not None and "out of tolerance" in found.why_not


def test_the_certificate_is_kept_as_a_file(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        here = make.instrument().id
    sheet = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer<<>>\n%%EOF\n"
    facts = {"done_on": "2026-02-10", "laboratory": "Tarn Metrology", "found": "within tolerance", "state": "in service",
             "certificate": "K-912"}
    page = technician.post(f"/instruments/{here}/calibrations/add", {**facts, "file": (b"not a sheet", "c.pdf")})
    assert "It is called .pdf and is none" in page.words and page.fields()["certificate"] == "K-912"
    page = technician.post(f"/instruments/{here}/calibrations/add", {**facts, "file": (sheet, "c.pdf")})
    assert "within tolerance" in page.words
    with app.app_context():
        made = session().scalars(sa.select(Calibration)).one()
        assert made.sha256 and Calibration.__table__.c.sha256.info[STORED] and made.state is State.IN_SERVICE
    answer = technician.client.get(f"/instruments/calibrations/{made.id}/certificate")
    assert answer.data == sheet and answer.headers["Content-Disposition"].startswith("attachment")


def test_a_later_good_day_than_the_last_calibration_says_what_showed_it(app: Flask) -> None:
    """Good until yesterday would put nothing in doubt: it was known good at its calibration before, unless a check is named."""
    with app.app_context(), transaction():
        meter = make.instrument("M9", stated=(FINE,), calibrated_on=date(2025, 6, 1), due_on=date(2099, 1, 1))
        assert meter.calibrated_on is not None
        later = LATER.date() - timedelta(days=1)
        with pytest.raises(BadInput, match="last calibrated on 1 Jun 2025") as wrong:
            service.record_calibration(meter, outside(good_on=later), by=BY, now=LATER)
        assert wrong.value.field == "good_on"
        service.record_calibration(meter, outside(good_on=later, note="held against the reference that day"), by=BY, now=LATER)


@pytest.mark.parametrize("error", [replace(V2, percent=float("nan")), replace(V2, fixed=float("nan")),
                                   replace(V2, above=float("nan")), replace(V2, fixed=float("inf"))])
def test_an_error_that_is_no_number_is_refused(app: Flask, error: ErrorFound) -> None:
    with app.app_context(), transaction():
        meter = make.instrument("M9", calibrated_on=date(2025, 6, 1), due_on=date(2099, 1, 1))
        with pytest.raises(BadInput):
            service.record_calibration(meter, outside(error), by=BY, now=LATER)
