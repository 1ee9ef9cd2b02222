"""A kept calculation is data that the order uses: it sets a value, is named beside it, and marks it when it no longer stands."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.bench.sums import service
from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.journal.models import JournalEntry
from app.kept import queries
from app.kept import service as kept_service
from app.kept.models import SumUse
from app.kept.rules import KeptFigure, Purpose, check_fits
from app.measuring.rules import Quantity
from app.measuring.service import points
from app.measuring.spec import PointFacts
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.parts import service as parts
from app.parts.models import Part
from app.parts.rules import PartKind, Rating, check_arrival
from tests import factories
from tests.discharge import make as discharges
from tests.factories import NOW
from tests.kept import make
from tests.pages import PageClient
from tests.parts import make as part_make
from tests.people import BY
from tests.quote import make as quotes

LATER = NOW + timedelta(hours=2)


def use(order: RepairOrder, one: make.KeptSum, key: str, purpose: Purpose) -> SumUse:
    made = service.use(order, one, make.figure(one, key), make.target(order, purpose), by=BY, now=NOW)
    session().flush()
    return made


def test_a_parts_place_takes_its_volts_watts_reverse_volts_and_ripple(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part = part_make.part(order, rating=Rating(420.0))
        supply, watts = make.kept(order), make.kept(order, "cathode-bias", cathode_ohm="150")
        for key, purpose in (("highest_v", Purpose.VOLTS), ("diode_piv_v", Purpose.REVERSE), ("ripple_vpp", Purpose.RIPPLE)):
            use(order, supply, key, purpose)
        use(order, watts, "resistor_w", Purpose.WATTS)
        assert part.need.rating == Rating(*(make.figure(one, key).value for one, key in (
            (supply, "highest_v"), (watts, "resistor_w"), (supply, "diode_piv_v"), (supply, "ripple_vpp"))))
        assert "calculated worst-case power: Cathode bias" in part.rating_source and len(part.rating_source) <= 200
        told = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == "sum:used")).all()
        assert len(told) == 4 and "worst-case voltage: C14" in told[0].after


def test_what_arrives_must_bear_the_reverse_volts_too(context: Flask) -> None:
    need = part_make.need(kind=PartKind.SEMICONDUCTOR, what="1N4007", rating=Rating(reverse_volts=920.0))
    with pytest.raises(BadInput, match="920 V"):
        check_arrival(need, part_make.arrival(rating=Rating(volts=600.0)))
    check_arrival(need, part_make.arrival(rating=Rating(volts=1000.0)))


def test_a_mean_is_refused_where_the_start_up_peak_is_known(context: Flask) -> None:
    """A reservoir rated by its mean is the commonest way to burst one: the calculation knows the higher figure."""
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part_make.part(order)
        with pytest.raises(BadInput, match="Highest at start-up"):
            use(order, make.kept(order), "mean_v", Purpose.VOLTS)


@pytest.mark.parametrize(("figure", "purpose", "unit", "words"), [
    (KeptFigure("power_w", "Power", 5.0, "W"), Purpose.VOLTS, "V", "in W"),
    (KeptFigure("x", "Volts", 0.0, "V"), Purpose.VOLTS, "V", "nothing"),
    (KeptFigure("x", "Volts", -4.0, "V"), Purpose.REVERSE, "V", "nothing"),
    (KeptFigure("x", "Current", 1.0, "A"), Purpose.EXPECTED, "V", "in A"),
])
def test_a_figure_that_cannot_be_it_is_refused_beside_it(figure: KeptFigure, purpose: Purpose, unit: str, words: str) -> None:
    with pytest.raises(BadInput, match=words) as wrong:
        check_fits(figure, purpose, unit, [])
    assert wrong.value.field == "figure"


def test_a_reading_takes_its_expected_value(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = factories.order()
        facts = PointFacts("HT at C14", Quantity.VOLT_DC, None, None, 450.0, "printed on the can")
        point = points.add_point(order, facts, by=BY, now=NOW)
        session().flush()
        one = make.kept(order)
        use(order, one, "mean_v", Purpose.EXPECTED)
        assert point.expected == make.figure(one, "mean_v").value
        assert point.basis.startswith("printed on the can; calculated expected value: Reservoir")
        assert [use.sum_id for use in queries.of_point(order.id, point.id)] == [one.id]


def test_the_discharge_record_keeps_stored_energy_and_time(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = factories.order()
        one = make.kept(order, "discharge", from_v="460")
        use(order, one, "joule", Purpose.ENERGY)
        use(order, one, "seconds", Purpose.TIME)
        made = discharges.discharged(order)
        assert made.stored_j == pytest.approx(0.5 * 100e-6 * 460**2) and made.needs_s == pytest.approx(3.829, rel=0.01)
        assert [kept.id for _, kept in made.calculated] == [one.id, one.id]


def test_a_changed_calculation_marks_what_rests_on_it_and_moves_nothing(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part = part_make.part(order)
        first = make.kept(order)
        use(order, first, "highest_v", Purpose.VOLTS)
        before = part.needed_volts
        second = make.kept(order, replaces=first, secondary_vrms="350", now=LATER)
        (rests,) = queries.of_parts(order.id)[part.id]
        assert part.needed_volts == before and rests.sum_id == first.id
        assert not rests.kept.stands and rests.kept.ended_at == LATER and rests.kept.end_words == f"changed by {BY.name}"
        with pytest.raises(RuleBroken, match="changed by"):
            use(order, first, "highest_v", Purpose.VOLTS)
        use(order, second, "highest_v", Purpose.VOLTS)
        (rests,) = queries.of_parts(order.id)[part.id]
        assert rests.kept.stands and part.needed_volts is not None and before is not None and part.needed_volts > before


def test_a_withdrawn_calculation_gives_nothing_more(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = factories.order()
        one = make.kept(order, "discharge", from_v="460")
        use(order, one, "joule", Purpose.ENERGY)
        kept_service.withdraw(one, "the can was 220 uF", by=BY, now=LATER)
        session().flush()
        assert queries.of_discharge(order.id)[Purpose.ENERGY].kept.end_words.endswith("the can was 220 uF")
        assert discharges.discharged(order).stored_j is None
        with pytest.raises(RuleBroken):
            kept_service.withdraw(one, "again", by=BY, now=LATER)


def test_a_place_that_is_entered_otherwise_rests_on_the_calculation_no_more(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part = part_make.part(order)
        one = make.kept(order)
        use(order, one, "highest_v", Purpose.VOLTS)
        parts.change(order, part, part_make.need(rating=Rating(700.0), rating_source="marked on the can"), None, by=BY, now=LATER)
        session().flush()
        assert queries.of_parts(order.id) == {}


def test_it_is_used_in_its_own_repair_only(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order, other = quotes.agreed_order(), factories.order()
        part_make.part(order)
        for wrong in (make.kept(other), make.kept(None)):
            with pytest.raises(BadInput, match="another repair"):
                use(order, wrong, "highest_v", Purpose.VOLTS)


def test_a_replacement_is_of_the_same_kind_and_repair(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = factories.order()
        one = make.kept(order)
        with pytest.raises(BadInput, match="same kind"):
            make.kept(order, "discharge", replaces=one, from_v="460")
        with pytest.raises(BadInput, match="same kind"):
            make.kept(None, replaces=one)


def _prepared(app: Flask) -> tuple[int, int, int, int]:
    with app.app_context(), transaction(), app.test_request_context():
        order = quotes.agreed_order()
        part = part_make.part(order)
        point = points.add_point(order, PointFacts("HT at C14", Quantity.VOLT_DC), by=BY, now=NOW)
        session().flush()
        return order.id, part.id, point.id, make.kept(order).id


def test_by_its_page_it_is_used_linked_changed_and_marked(app: Flask, technician: PageClient) -> None:
    order_id, part_id, point_id, sum_id = _prepared(app)
    page = technician.get(f"/sums/kept/{sum_id}")
    assert f"/sums/kept/{sum_id}" in technician.get(f"/orders/{order_id}").links()
    for figure, target in (("highest_v", f"part-{part_id}-volts"), ("mean_v", f"point-{point_id}-expected"),
                           ("no_load_j", "discharge-energy")):
        page = technician.post(f"/sums/kept/{sum_id}/use", {"figure": figure, "target": target}, form_on=f"/sums/kept/{sum_id}")
        assert not page.title.startswith("Error"), page.words
    shown = [f"/orders/{order_id}/parts", f"/orders/{order_id}/readings/points/{point_id}",
             f"/orders/{order_id}/readings/points/{point_id}/read"]
    for path in shown[:2]:
        assert f"/sums/kept/{sum_id}" in technician.get(path).links(), path
        assert "The calculation behind this was" not in technician.get(path).words
    again = next(link for link in technician.get(f"/sums/kept/{sum_id}").links() if "replaces=" in link)
    technician.post("/sums/reservoir/keep", {"order_id": str(order_id), "secondary_vrms": "350", "mine": "yes"}, form_on=again)
    for path in shown[:2]:
        assert "The calculation behind this was changed by Ines on" in technician.get(path).words, path
    page = technician.get(f"/sums/kept/{sum_id}")
    assert "Open the one in its place" in page.words and "Use this figure" not in page.words
    with app.app_context():
        part = session().get(Part, part_id)
        assert part is not None and part.needed_volts is not None and part.needed_volts > 460


def test_a_wrong_figure_is_refused_beside_it_and_what_was_chosen_stays(app: Flask, technician: PageClient) -> None:
    _, part_id, _, sum_id = _prepared(app)
    page = technician.post(f"/sums/kept/{sum_id}/use", {"figure": "mean_v", "target": f"part-{part_id}-volts"},
                           form_on=f"/sums/kept/{sum_id}")
    assert page.title.startswith("Error") and "not the most that its place can see" in page.words
    assert page.fields(f"/sums/kept/{sum_id}/use")["figure"] == "mean_v"


def test_one_kept_on_its_own_has_its_page_and_is_used_nowhere(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction(), app.test_request_context():
        sum_id = make.kept(None).id
    page = technician.get(f"/sums/kept/{sum_id}")
    assert "kept on its own" in page.words and "Use this figure" not in page.words


def test_withdrawing_asks_why_and_marks(app: Flask, technician: PageClient) -> None:
    _, _, _, sum_id = _prepared(app)
    page = technician.post(f"/sums/kept/{sum_id}/withdraw", {"reason": ""}, form_on=f"/sums/kept/{sum_id}")
    assert page.title.startswith("Error") and "Enter why it is withdrawn." in page.words
    page = technician.post(f"/sums/kept/{sum_id}/withdraw", {"reason": "wrong winding"}, form_on=f"/sums/kept/{sum_id}")
    assert "withdrawn by Ines: wrong winding" in page.words


def test_a_sum_of_an_ended_repair_is_used_no_more(app: Flask, technician: PageClient) -> None:
    order_id, part_id, _, sum_id = _prepared(app)
    with app.app_context(), transaction():
        order = session().get_one(RepairOrder, order_id)
        order.ended_as, order.ended_at = End.UNREPAIRED, NOW
    page = technician.get(f"/sums/kept/{sum_id}")
    assert "Use this figure" not in page.words and "Withdraw it" not in page.words
    with app.app_context():
        assert session().get_one(Part, part_id).needed_volts == 420.0
