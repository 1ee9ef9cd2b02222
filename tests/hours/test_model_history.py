"""What the same model did before: figures by hand, spellings, and that no customer is named."""

from __future__ import annotations

from flask import Flask

from app.db import session, transaction
from app.findings.rules.life import Area
from app.hours.queries.model import history_of, model_history, work_proposals
from app.hours.service import tasks
from app.measuring.rules import Phase
from app.measuring.service import readings
from app.measuring.service.readings import Taken
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts import service as parts
from tests import factories
from tests.findings import make as found
from tests.hours import make
from tests.hours.make import at
from tests.measuring import make as meters
from tests.pages import PageClient
from tests.parts import make as store
from tests.people import BY, Cast
from tests.quote import make as quotes


def repaired(serial: str, cast: Cast, hours: float, *observed: str, maker: str = "Tarnholt",
             model: str = "Meridian 30") -> RepairOrder:
    """An order of a customer with a name of their own, worked on so long, at reassembly."""
    order = factories.order(amp=factories.amp(maker, model, serial=serial), customer=factories.customer(f"Owner of {serial}"))
    order.stage = Stage.REASSEMBLY
    for words in observed:
        found.finding(order, area=Area.BOARDS, observation=words)
    quotes.line(order, parts="", parts_minor=0, condition=None)
    quotes.issue(order)
    quotes.authorise(order)
    make.worked(order, make.item(order), cast.technician.actor, hours * 10, hours * 10 + hours, allowed_by="Tove")
    tasks.finish(order, make.item(order), by=cast.technician.actor, now=at(100))
    session().flush()
    return order


def test_how_often_of_how_many_with_the_number_behind_each(context: Flask, cast: Cast) -> None:
    with transaction():
        repaired("A-1", cast, 1.0, "resistor R6 drifted", "leaking coupling capacitor")
        repaired("A-2", cast, 3.0, "Resistor  R6 drifted", maker="TARN-HOLT", model="Meridan 30")
        repaired("B-1", cast, 9.0, "nothing of ours", model="Meridian 50")
        third = factories.order(amp=factories.amp(serial="A-3"))
        session().flush()
        told = model_history(third)
        assert told is not None and (told.repairs, told.stripped, told.come_backs) == (2, 2, 0)
        assert [(one.what, one.times, one.of) for one in told.findings] == [
            ("boards: resistor R6 drifted", 2, 2), ("boards: leaking coupling capacitor", 1, 2)]
        assert [(one.kind, one.median, one.longest, one.n) for one in told.hours] == [("other", 2.0, 3.0, 2)]
        assert told.spellings == ("TARN-HOLT Meridan 30", "Tarnholt Meridian 30")
        assert history_of("Nobody", "Knows it") is None and model_history(factories.order(
            amp=factories.amp("Else", "Where 9"))) is None


def test_parts_come_backs_and_readings_as_left(context: Flask, cast: Cast) -> None:
    with transaction():
        tool = meters.instrument("M4")
        for serial, volts in (("A-1", "440"), ("A-2", "450")):
            order = repaired(serial, cast, 1.0)
            part = store.part(order)
            parts.receive(order, part, store.arrival(charged_minor=0), by=BY, now=at(101))
            parts.fit(order, part, "C14", by=BY, now=at(101))
            readings.take(order, Taken.at(meters.point(order), volts, tool, Phase.AS_LEFT), by=BY, now=at(102))
        back = factories.order(amp=order.amp, come_back_of=order)
        session().flush()
        told = history_of("Tarnholt", "Meridian 30")
        assert told is not None and (told.come_backs, told.repairs) == (1, 3) and back.come_back_of is order
        assert [(one.what, one.times, one.of) for one in told.parts] == [("47u 450 V", 2, 2)]
        assert [(one.point, one.middle, one.low, one.high, one.n) for one in told.left] == [
            ("HT1, reservoir", "445 V", "440 V", "450 V", 2)]


def test_it_stands_at_intake_and_on_the_quote_and_names_nobody(app: Flask, counter: PageClient, technician: PageClient,
                                                               cast: Cast) -> None:
    with app.app_context(), transaction():
        repaired("A-1", cast, 2.0, "resistor R6 drifted")
        third = factories.order(amp=factories.amp(serial="A-3"), customer=factories.customer("Wilma Else"))
        finding = found.finding(third, area=Area.BOARDS, observation="hiss from the first stage")
        assert [(kind, took) for _, kind, took in work_proposals(third)] == [("boards", None)]
        here, about, who, fourth = f"/orders/{third.id}", finding.id, third.depositor_id, factories.amp(serial="A-4").id
    for page in (technician.get(f"{here}/intake"), technician.get(f"{here}/quote"),
                 counter.get(f"/check-in?customer={who}&amp={fourth}")):
        assert "This model before" in page.words and "resistor R6 drifted" in page.words and "Owner of A-1" not in page.words
    line = technician.get(f"{here}/quote/lines/new?finding={about}").words
    assert "boards. No finished task of this kind on this model." in line
