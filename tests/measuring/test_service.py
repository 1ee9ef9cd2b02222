"""Readings are kept with what their verdict rests on; wrong ones are corrected by later ones."""

from __future__ import annotations

from datetime import date

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.journal.models import JournalEntry
from app.measuring import doubts, queries
from app.measuring.models import Reading
from app.measuring.rules import USUAL_POINTS, Phase, Quantity, State, Verdict, judged
from app.measuring.service import instruments as instruments_service
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.service.readings import Taken
from app.measuring.spec import InstrumentFacts, PointFacts
from app.measuring.tolerance import ErrorFound
from tests import factories
from tests.factories import NOW
from tests.measuring import make
from tests.people import BY


def test_a_reading_keeps_what_its_verdict_rests_on(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        made = readings_service.take(order, Taken.at(make.point(order), "441", meter, mains_v=241), by=BY, now=NOW)
        assert (made.verdict, made.unit, made.lower, made.upper) == (Verdict.PASS, "V", 421.0, 455.0)
        assert made.uncertainty == pytest.approx(2 * (441 * 0.005 + 0.3) / 3**0.5)  # JCGM 100, 4.3.7
        instruments_service.change_instrument(meter, InstrumentFacts("M2", meter.kind, due_on=date(2027, 1, 1),
                                                         calibrated_on=date(2026, 3, 2)), by=BY, now=NOW)
    kept = session().scalars(sa.select(Reading)).one()
    assert kept.due_on == date(2026, 6, 1) and "serial 40217" in kept.instrument_words
    assert judged(kept.inputs).verdict is kept.verdict
    last = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == "reading:taken")).one()
    assert '"verdict":"pass"' in last.after and '"read":"441 V"' in last.after


def test_near_a_limit_it_is_in_doubt_and_beyond_it_fails(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        point = make.point(order, "V1a anode, pin 1", expected=203, lower=183, upper=223)
        for typed, expect in (("224", Verdict.UNDECIDED), ("227", Verdict.FAIL), ("203", Verdict.PASS)):
            assert readings_service.take(order, Taken.at(point, typed, meter), by=BY, now=NOW).verdict is expect


def test_a_correction_says_so_and_the_first_stays_readable(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        point = make.point(order)
        wrong = readings_service.take(order, Taken.at(point, "44.1", meter), by=BY, now=NOW)
        with pytest.raises(BadInput):
            readings_service.correct(wrong, Taken.at(point, "441", meter), reason=" ", by=BY, now=NOW)
        right = readings_service.correct(wrong, Taken.at(point, "441", meter), reason="point slipped", by=BY, now=NOW)
        session().flush()
        with pytest.raises(RuleBroken):
            readings_service.correct(wrong, Taken.at(point, "442", meter), reason="again", by=BY, now=NOW)
    (row,) = queries.as_found_as_left(order)
    assert row.as_left is right and row.as_found is None
    assert [one.typed for one in queries.history_of(point)] == ["441", "44.1"]


def test_as_found_and_as_left_stand_side_by_side(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        point = make.point(order, "V5 grid", expected=-52, lower=-54, upper=-49)
        noise = factories.order(amp=factories.amp(serial="other"))
        readings_service.take(noise, Taken.at(make.point(noise, "V5 grid"), "1", meter), by=BY, now=NOW)
        readings_service.take(order, Taken.at(point, "-38.6", meter, Phase.AS_FOUND), by=BY, now=NOW)
        readings_service.take(order, Taken.at(point, "-51.8", meter), by=BY, now=NOW)
    (row,) = queries.as_found_as_left(order)
    assert row.as_found is not None and row.as_left is not None
    assert (row.as_found.verdict, row.as_left.verdict) == (Verdict.FAIL, Verdict.PASS)
    assert row.changed_percent == pytest.approx(-34.197, abs=0.001)


def test_which_meter_counts(context: Flask) -> None:
    """Quarantined: no reading at all. Overdue: at the bench yes, as proof of safety no. Indication only: not judged."""
    with transaction():
        order = factories.order()
        point = make.point(order)
        broken = make.instrument("M3", state=State.QUARANTINED)
        overdue = make.instrument("M4", calibrated_on=date(2024, 1, 1), due_on=date(2025, 1, 1))
        scope = make.instrument("S1", state=State.INDICATION)
        with pytest.raises(BadInput, match="quarantined"):
            readings_service.take(order, Taken.at(point, "441", broken), by=BY, now=NOW)
        passed = readings_service.take(order, Taken.at(point, "441", overdue), by=BY, now=NOW)
        assert passed.verdict is Verdict.PASS and passed.said == ("doubt", "within, instrument overdue")
        with pytest.raises(BadInput, match="overdue since 1 Jan 2025"):
            readings_service.take(order, Taken.at(point, "441", overdue), by=BY, now=NOW, proves=True)
        assert readings_service.take(order, Taken.at(point, "441", scope), by=BY, now=NOW).verdict is Verdict.NOT_JUDGED
        with pytest.raises(BadInput, match=r"M5 states no accuracy in volts DC for 700\. Take another"):
            readings_service.take(order, Taken.at(point, "700", make.instrument("M5")), by=BY, now=NOW, proves=True)


def test_the_usual_points_are_laid_out_once(context: Flask) -> None:
    with transaction():
        order = factories.order()
        points_service.add_usual_point(PointFacts("Presence pot track", Quantity.OHM), by=BY, now=NOW)
        make.point(order, "HT1, reservoir")
        first = points_service.lay_out(order, by=BY, now=NOW)
        assert points_service.lay_out(order, by=BY, now=NOW) == []
    names = [one.name for one in queries.points_of(order)]
    assert len(names) == len(set(names)) == len(first) + 1 and "Presence pot track" in names


def test_the_usual_points_hold_each_output_valve_mains_earth_and_ripple() -> None:
    """Common practice, no source: cathode current less screen current is what the anode dissipates with."""
    names = {one.name: one.quantity for one in USUAL_POINTS}
    for which in ("first", "second"):
        assert names[f"Cathode current, {which} output valve"] is names[f"Screen current, {which} output valve"] is Quantity.AMP_DC
    assert names["Mains current at idle"] is Quantity.AMP_AC and names["Ripple at the reservoir"] is Quantity.VOLT_AC
    assert names["Protective earth, plug pin to chassis"] is Quantity.OHM


def test_an_explanation_is_needed_for_what_is_no_pass(context: Flask) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        point, other = make.point(order), make.point(order, "Hum", lower=None, upper=None, basis="")
        assert [one.name for one, _ in queries.unexplained(order)] == ["HT1, reservoir", "Hum"]
        made = readings_service.take(order, Taken.at(point, "456", meter), by=BY, now=NOW)
        hum = readings_service.take(order, Taken.at(other, "6m", meter), by=BY, now=NOW)
        readings_service.explain(made, words="mains 250 V that morning; 438 V at 240 V", by=BY, now=NOW)
        readings_service.explain(hum, words="was 14 mV as found", by=BY, now=NOW)
        assert queries.unexplained(order) == []
        assert made.verdict is Verdict.UNDECIDED


def test_a_pass_by_a_meter_out_of_date_holds_and_teaches_nothing(context: Flask) -> None:
    """Within its limits, but nobody knows what the meter read: it is explained or read again, and no other amp expects it."""
    with transaction():
        order, meter = factories.order(), make.instrument("M7", due_on=date(2025, 12, 1))
        point = make.point(order)
        point.node = "B+1"
        made = readings_service.take(order, Taken.at(point, "438", meter), by=BY, now=NOW)
        assert made.verdict is Verdict.PASS and not made.passed and made.said == ("doubt", "within, instrument overdue")
        assert [one.name for one, _ in queries.unexplained(order)] == [point.name]
        other = factories.order(amp=factories.amp(serial="M7-2"))
        assert queries.left_at_nodes(other) == []
        readings_service.explain(made, words="read beside the meter of the neighbour, 437 V", by=BY, now=NOW)
        assert queries.unexplained(order) == [] and queries.left_at_nodes(other) == []
        readings_service.take(order, Taken.at(point, "438", make.instrument()), by=BY, now=NOW)
        assert queries.unexplained(order) == [] and [one.volt for one in queries.left_at_nodes(other)] == [438.0]


def test_an_instrument_found_wrong_names_its_readings(context: Flask) -> None:
    """ILAC-G24: what was read since the last good day is judged again; safety first. 444 V + 2 % = 452.9 V, U 2.9 V, limit 455."""
    with transaction():
        order, meter = factories.order(), make.instrument()
        point = make.point(order)
        shaky = readings_service.take(order, Taken.at(point, "444", meter, Phase.AS_FOUND), by=BY, now=NOW)
        readings_service.take(order, Taken.at(point, "438", meter), by=BY, now=NOW)
        bare = readings_service.take(order, Taken("Leakage", Quantity.AMP_DC, "3.4m", meter, upper=0.0045), by=BY, now=NOW)
        safety = readings_service.take(order, Taken("Touch", Quantity.VOLT_DC, "59", meter, upper=60.0), by=BY, now=NOW)
    error = ErrorFound(Quantity.VOLT_DC, 0, 600, 2.0, 0)
    found = doubts.doubted(meter, [error], date(2026, 3, 2))
    assert [(one.reading, one.worst) for one in found] == [(safety, Verdict.UNDECIDED), (shaky, Verdict.UNDECIDED)]
    assert bare not in [one.reading for one in found]
    assert doubts.doubted(meter, [error], date(2026, 3, 3)) == []


def test_limits_need_a_basis(context: Flask) -> None:
    with transaction():
        order = factories.order()
        with pytest.raises(BadInput, match="come from"):
            make.point(order, basis="")
        with pytest.raises(BadInput, match="lower limit"):
            make.point(order, lower=500)


@pytest.mark.parametrize("column", ["unit", "typed"])
def test_the_database_refuses_a_reading_without(context: Flask, column: str) -> None:
    with transaction():
        order, meter = factories.order(), make.instrument()
        readings_service.take(order, Taken.at(make.point(order), "441", meter), by=BY, now=NOW)
    with pytest.raises(sa.exc.IntegrityError), transaction() as current:
        current.execute(sa.update(Reading).values({column: ""}))
    with pytest.raises(sa.exc.IntegrityError), transaction() as current:
        current.execute(sa.update(Reading).values(uncertainty=None))
