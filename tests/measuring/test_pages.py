"""The readings' and the instruments' pages."""

from __future__ import annotations

import re
from datetime import date

from flask import Flask

from app.db import transaction
from app.measuring.service import readings as readings_service
from app.measuring.service.readings import Taken
from tests import factories
from tests.measuring import make
from tests.pages import PageClient
from tests.people import BY

SVG = "{http://www.w3.org/2000/svg}svg"


def test_from_an_empty_list_to_a_judged_reading(app: Flask, technician: PageClient, counter: PageClient) -> None:
    with app.app_context(), transaction():
        number, meter = factories.order().id, make.instrument().id
    here = f"/orders/{number}/readings"
    page = technician.get(here)
    assert "No points are laid out" in page.words
    page = technician.send(f"{here}/lay-out", {**page.fields(f"{here}/lay-out")})
    assert re.search(r"[0-9]{2} points added", page.words) and "Next reading" in page.words
    page = technician.post(f"{here}/points/add", {"name": "V5 grid, pin 5", "quantity": "V DC", "expected": "-52",
                                                  "lower": "-54", "upper": "-49", "basis": "computed"})
    add = page.form().get("action", "").split("?")[0]
    page = technician.post(add, {"typed": "-38.6", "instrument": str(meter), "phase": "as left", "mains_v": "241"})
    assert "V5 grid, pin 5: −38.6 V, fail." in page.words
    page = counter.get(here)
    assert "−54 … −49 V" in page.words and "−38.6 V" in page.words and "Explain it" not in page.words
    assert "−38.6 V, outside the band −54 … −49 V" in [svg.get("aria-label") for svg in page.root.iter(SVG)]
    assert "−38.6 V" in counter.get(f"/orders/{number}").words


def test_a_form_says_what_to_enter(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        number, meter, point = order.id, make.instrument("M4", due_on=None, calibrated_on=None).id, make.point(order).id
    take = f"/orders/{number}/readings/points/{point}/read"
    assert "Enter what the instrument shows." in technician.post(take, {"typed": "", "instrument": str(meter)}).words
    page = technician.post(take, {"typed": "4x1", "instrument": str(meter)})
    assert page.title.startswith("Error:") and "a value such as 4k7" in page.words
    assert "no calibration on record" in page.words
    page = technician.post(f"/orders/{number}/readings/points/add", {"name": "V1", "lower": "9", "upper": "x"})
    assert "a value such as 4k7" in page.words


def test_a_meter_that_states_the_quantity_and_is_in_date_is_offered_first(app: Flask, technician: PageClient) -> None:
    """Common practice, no source: the first reading of an order proposes no tester that cannot take it."""
    with app.app_context(), transaction():
        order = factories.order()
        number, point = order.id, make.point(order).id
        make.instrument("A1", stated=make.METER[3:])
        make.instrument("B1", due_on=None, calibrated_on=None)
        make.instrument("Z9", due_on=date(2999, 6, 1))
    words = technician.get(f"/orders/{number}/readings/points/{point}/read").words
    assert words.index("Z9:") < words.index("B1:") < words.index("A1:")


def test_correcting_and_explaining(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        number, meter, point = order.id, make.instrument().id, make.point(order).id
    here = f"/orders/{number}/readings"
    technician.post(f"{here}/points/{point}/read", {"typed": "44.1", "instrument": str(meter)})
    page = technician.get(f"{here}/points/{point}")
    fix = next(link for link in page.links() if link.endswith("/correct"))
    page = technician.post(fix, {"typed": "456", "reason": "slipped a decimal"})
    assert "Corrected by 456 V" in page.words and "Corrects 44.1 V: slipped a decimal" in page.words
    say = next(link for link in page.links() if link.endswith("/explain"))
    assert "mains was high" in technician.post(say, {"explanation": "mains was high"}).words
    page = technician.post(f"{here}/points/{point}/withdraw", {"reason": "no such tap"})
    assert "is taken off the list" in page.words


def test_keeping_the_instruments(app: Flask, technician: PageClient, counter: PageClient) -> None:
    page = technician.get("/instruments")
    assert "No instrument is on the list" in page.words
    page = technician.post("/instruments/add", {"name": "M2", "kind": "multimeter", "make": "Hollin 9", "serial": "40217",
                                                "calibrated_on": "2026-03-14", "due_on": "2099-03-14"})
    assert "Enter what it states" in page.words and "in date" in page.words
    where = page.form().get("action", "") if "accuracy" not in page.form().get("action", "") else ""
    assert where.startswith("/instruments/")
    page = technician.post(f"{where}/accuracy", {"quantity": "V DC", "up_to": "600", "percent": "0.5", "counts": "3",
                                                 "resolution": "0.1"})
    assert "±(0.5 % + 3 × 100 mV)" in page.words
    assert "There is an instrument M2 already" in technician.post("/instruments/add", {"name": "m2"}).words
    asked = f"{where}/out-of-tolerance"
    assert "Enter per cent of the reading" in technician.get(f"{asked}?quantity=Ω&percent=&since=2026-01-01").words
    assert "Every verdict holds" in technician.get(f"{asked}?quantity=Ω&percent=2&since=2026-01-01").words
    page = technician.post(where, {"due_on": "2025-01-01"})
    assert "lies before the last one" in page.words
    page = technician.post("/instruments/usual-points", {"name": "Presence track", "quantity": "Ω"})
    assert "Presence track is in the set" in page.words
    assert "Instruments" not in counter.get("/").words


def test_an_instruments_readings_are_counted_and_paged(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order, meter = factories.order(), make.instrument()
        point, here = make.point(order), f"/instruments/{meter.id}"
        for shown in range(401, 431):
            readings_service.take(order, Taken.at(point, str(shown), meter), by=BY, now=factories.NOW)
    first = technician.get(here)
    assert "30 readings" in first.words and "1 to 25 of 30" in first.words and "430 V" in first.words and "405 V" not in first.words
    last = technician.get(f"{here}?page=2")
    assert "26 to 30 of 30" in last.words and "405 V" in last.words and "406 V" not in last.words
    assert f"{here}?page=1#readings" in last.links()
    assert technician.get(f"{here}?page=99").words == last.words
