"""Three strip-downs entered at a tablet and worked back on the way-back page by taps, what must be refused on the way included.

Pieces, graphs of tasks and must-fail cases: worked out by hand and by a separate program (computed); the rules behind them are
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Browser

from app.db import session, transaction
from app.orders.models import RepairOrder
from app.reassembly import planner
from app.reassembly.queries.way import way_back
from tests import factories
from tests.browser.hands import BrowserHand
from tests.people import PASSWORD, Cast
from tests.reassembly.test_way_back import meter
from tests.reassembly.way_back_cases import (
    BASE_GRAPH,
    CONTROLS,
    TRANSFORMER_GRAPH,
    front_panel,
    octal_base,
    panel_graph,
    transformer,
)
from tests.served import tablet

pytestmark = [pytest.mark.browser, pytest.mark.timeout(300)]
READINGS = {"PE": "0.12", "IR": ">200M", "ISO": ">200M"}
COUNTERS = ("screw", "bolt", "nut", "flat washer", "spring washer", "toothed washer", "lock-nut", "grommet", "clip")
# Where one record is just like another but for its tag: entered by “Same again”.
LIKE = {**{f"P{n}": "P1" for n in (2, 3, 5, 6, 7)}, "S2": "S1", "J2": "J1", "J4": "J3", "E2": "E1",
        **{f"W{n}": "W9" for n in range(3, 9)}, "W1": "W2", "B": "A", "D": "A", "G2": "G1"}

# One engine each keeps the three quick: what is stored by either is pinned page by page and service by service elsewhere.
ON_SQLITE = pytest.mark.parametrize("engine_name", ["sqlite"])
ON_POSTGRESQL = pytest.mark.parametrize("engine_name", ["postgresql"])


@pytest.fixture
def ines(browser: Browser, address: str, app: Flask, cast: Cast) -> Iterator[BrowserHand]:
    """Ines at the bench tablet, touch only."""
    context = tablet(browser, address)
    hand = BrowserHand(context, cast.technician.name)
    hand.do("/people/sign-in", {"name": hand.name, "password": PASSWORD})
    yield hand
    context.close()


def opened(app: Flask) -> int:
    with app.app_context(), transaction():
        order = factories.order()
        meter()
        return order.id


def enter(hand: BrowserHand, order_id: int, ledger: Iterable[planner.Removal]) -> None:
    """Each thing as it comes off: by its form, or by one tap where it is just like one before."""
    at, known = f"/orders/{order_id}/removals", dict[str, str]()
    for one in ledger:
        if one.id in LIKE:
            hand.do(f"{known[LIKE[one.id]]}/again", {"mark": one.id}, on=known[LIKE[one.id]])
        else:
            hand.do(f"{at}/new", fields_of(one))
            known[one.id] = f"{at}/{hand.page.locator('a.row-link').last.get_attribute('href').rsplit('/', 1)[-1]}"


def fields_of(one: planner.Removal) -> dict[str, Any]:
    """What is typed and tapped of one removal; what it leaves open is not touched."""
    counted = {f"count_{name.replace(' ', '_').replace('-', '_')}": str(count) for name, count in one.fasteners.items()
               if name in COUNTERS}
    name = one.label or (one.id if one.kind == "part" else "")
    given = {"mark": one.id, "kind": one.kind, "name": name, "side": one.side, "under": list(one.under),
             "fixed_to": one.on, "orientation": one.orientation, "stack": "\n".join(one.stack).replace("FAS", "fascia"),
             "ends": "\n".join(one.ends), "bag": "tray 5", "keyed": one.keyed, "stays_on_loom": one.stays_on_loom,
             "other_pieces": ", ".join(f"{count} {name}" for name, count in one.fasteners.items() if name not in COUNTERS)}
    return {name: value for name, value in {**given, **counted}.items() if value}


def work_back(hand: BrowserHand, order_id: int, until: str = "") -> int:
    """Follow the page: done, all done, measured; stops before the step `until`, or at a count. Returns the taps it took."""
    taps, way = 0, f"/orders/{order_id}/way-back"
    hand.open(way)
    while True:
        main = hand.page.locator(".way-now")
        alike, done = main.locator("#run-form button"), main.locator("#done-form button")
        step = (done.locator("xpath=ancestor::form").get_attribute("action") if done.count()
                else main.locator("a.btn-main").get_attribute("href")).rsplit("/", 1)[-1]
        if step == until or not done.count() and step not in READINGS:
            return taps
        if done.count():
            hand.send(alike if alike.count() else done)
            taps += 1
        else:
            more: dict[str, Any] = {}
            if step == "IR":
                hand.do(f"{way}/fitted/{step}", on=f"{way}/measure/{step}", way="no")
                more, taps = {"level": "500.0", "unplugged": True}, taps + 3
            hand.do(f"{way}/measure/{step}", {"typed": READINGS[step], **more})
            taps += 2


def figures(hand: BrowserHand, path: str) -> dict[str, str]:
    """Nothing is left of any class: a 0 for each figure that the count asks for."""
    return {name: "0" for name in hand.fields(path) if name.startswith("piece_")}


def order_of_work(app: Flask, order_id: int) -> list[str]:
    """The steps in the order in which they were done."""
    with app.app_context():
        found = session().get(RepairOrder, order_id)
        assert found is not None
        return [one.step for one in sorted(way_back(found).records.values(), key=lambda one: one.id)]


def keeps(graph: dict[str, set[str]], done: list[str]) -> None:
    """All of the graph was done, once each, nothing before what it waits for."""
    assert sorted(done) == sorted(graph)
    place = {step: number for number, step in enumerate(done)}
    early = [(step, need) for step, needs in graph.items() for need in needs if place[need] > place[step]]
    assert early == []


def finished(hand: BrowserHand) -> None:
    assert "Reassembly complete" in hand.words() and "Every step of the way back is marked done" in hand.words()
    assert hand.complaints == []


@ON_SQLITE
def test_front_panel_goes_back_aligned_before_tight_and_not_with_a_piece_left(ines: BrowserHand, app: Flask) -> None:
    """55 loose pieces, 78 tasks; one left in the tray does not close it."""
    order_id = opened(app)
    enter(ines, order_id, front_panel())
    assert "16 off · 55 loose pieces" in ines.read(f"/orders/{order_id}/removals")
    way = f"/orders/{order_id}/way-back"
    assert "0 of 78 done" in ines.read(way)
    early = ines.refused(f"{way}/do/OVER_J1", way)
    assert "comes too early: first" in early and "fascia" in early
    work_back(ines, order_id, until="ALIGN")
    page = ines.read(f"{way}/step/TIGHT_P1")
    assert "It waits for:Align everything before tightening" in page and ines.page.locator("#done-form").count() == 0
    assert "comes too early: first Align everything before tightening" in ines.refused(f"{way}/do/TIGHT_P1", way)
    assert "comes too early: first" in ines.refused(f"{way}/do/KNOB_P2", way)
    work_back(ines, order_id)
    ines.do(f"{way}/count/CT", {"looked": True, **figures(ines, f"{way}/count/CT"), "piece_2": "1"})
    short = ines.words()
    assert "flat washer: 1 left in the tray, but the ledger has all fitted. Find where it is missing." in short
    ines.do(f"{way}/count/CT", {"looked": True, **figures(ines, f"{way}/count/CT")})
    finished(ines)
    keeps(panel_graph(CONTROLS, ("E1", "E2"), ("J1", "J2")), order_of_work(app, order_id))


@ON_POSTGRESQL
def test_transformer_goes_back_with_the_earth_measured_before_any_mains_lead(ines: BrowserHand, app: Flask) -> None:
    """22 loose pieces on four corners and two grommets, 26 tasks."""
    order_id = opened(app)
    enter(ines, order_id, transformer())
    assert "16 off · 24 loose pieces" in ines.read(f"/orders/{order_id}/removals")
    way = f"/orders/{order_id}/way-back"
    assert "0 of 26 done" in ines.read(way)
    for early, first in (("T", "G2"), ("EC", "to bright metal")):
        words = ines.refused(f"{way}/do/{early}", way)
        assert "comes too early: first" in words and first in words
    work_back(ines, order_id, until="PE")
    assert "comes too early: first Measure the protective earth" in ines.refused(f"{way}/do/W1", way)
    ines.do(f"{way}/measure/PE", {"typed": "1.4"})
    assert "The reading is kept; the step stays open." in ines.words()
    work_back(ines, order_id)
    ines.do(f"{way}/count/CT", {"looked": True, **figures(ines, f"{way}/count/CT")})
    finished(ines)
    keeps(TRANSFORMER_GRAPH, order_of_work(app, order_id))


@ON_SQLITE
def test_octal_base_is_not_verified_with_twelve_of_its_thirteen_ends(ines: BrowserHand, app: Flask) -> None:
    """8 loose pieces and 13 ends at nine joints, 24 tasks."""
    order_id = opened(app)
    *wires, base = octal_base()
    enter(ines, order_id, wires)
    with pytest.raises(AssertionError, match="Enter which way its keyway, tab or polarity faces"):
        ines.do(f"/orders/{order_id}/removals/new", {**fields_of(base), "orientation": ""})
    enter(ines, order_id, [base])
    assert "13 off · 8 loose pieces" in ines.read(f"/orders/{order_id}/removals")
    way = f"/orders/{order_id}/way-back"
    assert "0 of 24 done" in ines.read(way)
    assert "comes too early: first Tighten base V5" in ines.refused(f"{way}/do/H1", way)
    assert "comes too early: first" in ines.refused(f"{way}/do/J6", way)
    work_back(ines, order_id)
    ines.do(f"{way}/count/V", {"ends": "12", "looked": True, **figures(ines, f"{way}/count/V")})
    assert "12 wire ends counted, 13 came off." in ines.words()
    ines.do(f"{way}/count/V", {"ends": "13", "looked": True, **figures(ines, f"{way}/count/V")})
    finished(ines)
    keeps(BASE_GRAPH, order_of_work(app, order_id))
