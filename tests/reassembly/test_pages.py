"""The pages of the way back: an octal base entered by its forms and worked back by taps; earth, balance, handover, forced steps."""

from __future__ import annotations

import re
import secrets
from typing import Any

from flask import Flask

from app import clock
from app.db import session, transaction
from app.findings.rules.life import Area
from app.findings.service import findings as findings_service
from app.findings.service import special as special_service
from app.findings.spec import FindingFacts
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.reassembly.queries.way import way_back
from app.removals import queries as removals
from app.removals.rules import Kind as RemovedKind
from tests import factories
from tests.pages import Page, PageClient
from tests.people import BY, Cast
from tests.removals import make

from .test_way_back import meter, work
from .way_back_cases import front_panel, octal_base, transformer


def opened(app: Flask, ledger: Any = (), steps: str = "") -> int:
    with app.app_context(), transaction():
        order = factories.order()
        make.enter(order, ledger)
        meter()
        work(order, steps.split())
        return order.id


def the_order(order_id: int) -> RepairOrder:
    found = session().get(RepairOrder, order_id)
    assert found is not None
    return found


def fresh(fields: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The same page's form once more, as another filled form: with a key of its own."""
    return {**fields, "once": secrets.token_hex(16), **more}


def next_form(page: Page) -> str:
    """Where the main button of the way back leads."""
    actions = [form.get("action", "") for form in page.all("form") if form.get("id") == "done-form"]
    links = [link for link in page.links() if re.search(r"/way-back/(count|measure)/", link)]
    return (actions or links)[0]


def test_a_base_is_entered_by_its_forms_and_worked_back_by_taps(app: Flask, technician: PageClient) -> None:
    """The octal base of eight pieces and thirteen wire ends: 12 counted are refused, 13 close it."""
    order_id = opened(app)
    at = f"/orders/{order_id}"
    blank = technician.get(f"{at}/removals/new").fields(f"{at}/removals/new")
    for one in octal_base():
        given = {f"count_{name.replace(' ', '_')}": str(count) for name, count in one.fasteners.items()
                 if name in ("screw", "nut", "spring washer")}
        other = ", ".join(f"{count} {name}" for name, count in one.fasteners.items() if name in ("retainer", "base"))
        technician.send(f"{at}/removals/new", fresh(blank, mark=one.id, name=one.label or one.id, kind=one.kind, other_pieces=other,
                                                    fixed_to=one.on or "", ends="\n".join(one.ends), under=list(one.under),
                                                    keyed="y" if one.keyed else None, orientation=one.orientation,
                                                    bag="tray 5", **given))
    page = technician.get(f"{at}/removals")
    assert "13 off · 8 loose pieces" in page.words
    with app.app_context():
        assert len(way_back(the_order(order_id)).steps) == 24
    for _ in range(23):
        page = technician.get(f"{at}/way-back")
        page = technician.send(next_form(page), page.fields(next_form(page)))
        assert "is done." in page.words
    count = next_form(page)
    figures = {name: "0" for name in technician.get(count).fields(count) if name.startswith("piece_")}
    assert len(figures) == 5
    page = technician.post(count, {"ends": "12", "looked": "y", **figures})
    assert "12 wire ends counted, 13 came off." in page.words
    page = technician.post(count, {"ends": "13", **figures})
    assert "Look inside for what does not belong there" in page.words
    page = technician.post(count, {"ends": "13", "looked": "y", **figures})
    assert "Reassembly complete" in page.words and "24 of 24 done" in page.words


def test_the_earth_is_measured_on_the_page_before_a_mains_lead_can_be_tapped(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, transformer(), "G1 G2 CL T BA BB BC BD NA NB ND EC X LK")
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    assert "Measure the protective earth" in page.words and "W2 and 1 more wait for" in page.words
    early = technician.get(f"{at}/step/W1")
    page = technician.send(f"{at}/force/W1", {**early.fields(f"{at}/force/W1"), "forced_reason": "in a hurry"}, status=409)
    assert "cannot be skipped" in page.words
    page = technician.post(f"{at}/measure/PE", {"typed": "one"})
    assert "“one” cannot be read: a number was expected at ▸ in “▸one”. Enter a value such as 4k7" in page.words
    page = technician.post(f"{at}/measure/PE", {"typed": "1R4"})
    assert "fail" in page.words and "the step stays open" in page.words
    page = technician.post(f"{at}/measure/PE", {"typed": "0.12"})
    assert "15 of 26 done" in page.words and "pass" in page.words


def test_a_repeated_or_late_tap_has_one_effect_and_a_wrong_one_is_refused_in_words(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1", "P2"), ("E1",), ()))
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    done = page.fields(f"{at}/do/IN_P1")
    assert "IN_P2" in str(page.text) and "All 2 done" in page.words
    technician.send(f"{at}/do/IN_P1", done)
    technician.send(f"{at}/do/IN_P1", done)
    technician.send(f"{at}/do/IN_P1", fresh(done))
    with app.app_context():
        assert list(way_back(the_order(order_id)).records) == ["IN_P1"]
    page = technician.send(f"{at}/do/OVER_P1", fresh(done), status=409)
    assert "comes too early: first Seat P1" in page.words
    page = technician.send(f"{at}/do/GONE", fresh(done), status=404)
    assert "not part of the way back any more" in page.words
    page = technician.get(f"{at}/step/IN_P1")
    page = technician.send(f"{at}/undo/IN_P1", {**page.fields(f"{at}/undo/IN_P1"), "reason": ""})
    assert "Enter why it is undone." in page.words
    page = technician.send(f"{at}/undo/IN_P1", {**page.fields(f"{at}/undo/IN_P1"), "reason": "", "usual": "it sits wrong"})
    assert "0 of 16 done" in page.words
    page = technician.send(f"{at}/do/IN_P1", fresh(done, also="IN_P2"))
    assert "2 steps are done." in page.words
    page = technician.get(f"{at}/step/NUT_P1")
    page = technician.send(f"{at}/force/NUT_P1", {**page.fields(f"{at}/force/NUT_P1"), "forced_reason": "held by a jig"})
    assert "out of order" in page.words and "held by a jig" in technician.get(f"{at}/all").words


def test_the_balance_refuses_a_surplus_and_says_which_class(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1",), (), ()), "IN_P1 BODY_P1 FAS OVER_P1 NUT_P1 ALIGN TIGHT_P1 KNOB_P1")
    at = f"/orders/{order_id}"
    technician.post(f"{at}/removals/pieces", {"piece": "flat washer", "went": "refitted", "count": "1"})
    figures = {f"piece_{number}": "0" for number in range(4)}
    page = technician.post(f"{at}/way-back/count/CT", {"looked": "y", **figures})
    assert "flat washer: 1 more went back than came off or were issued." in page.words
    assert "flat washer" in page.words and "1 too many" in technician.get(f"{at}/way-back/balance").words
    technician.post(f"{at}/removals/pieces", {"piece": "flat washer", "went": "issued", "count": "1"})
    page = technician.post(f"{at}/way-back/count/CT", {"looked": "y", **figures})
    assert "It balances" in page.words and "Reassembly complete" in page.words


def test_a_changed_fate_is_said_on_the_way_back_until_it_is_seen(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1", "P2"), (), ()), "IN_P1")
    at = f"/orders/{order_id}"
    with app.app_context():
        pot = removals.by_mark(the_order(order_id), "P2")
        assert pot is not None
    technician.post(f"{at}/removals/{pot.id}/fate", {"fate": "scrap", "fate_reason": "not original"})
    page = technician.get(f"{at}/way-back")
    assert "The plan has changed" in page.words and "Gone: P2: toothed washer on the thread" in page.words
    page = technician.send(f"{at}/way-back/seen", page.fields(f"{at}/way-back/seen"))
    assert "The plan has changed" not in page.words


def test_the_open_amp_changes_hands_on_the_page(app: Flask, technician: PageClient, cast: Cast) -> None:
    order_id = opened(app, front_panel(("J3",), (), ()))
    at = f"/orders/{order_id}/way-back/handover"
    page = technician.post(at, {"to": str(cast.second.id), "piece_0": "1", "piece_1": "1", "piece_2": ""})
    assert "Enter how many; 0 if there are none" in page.words
    page = technician.post(at, {"to": str(cast.second.id), "piece_0": "1", "piece_1": "1", "piece_2": "0"})
    assert "toothed washer: 0 counted, 1 by the ledger" in page.words
    page = technician.post(at, {"to": str(cast.second.id), "piece_0": "1", "piece_1": "1", "piece_2": "1"})
    assert "Odd takes over" in page.words and "Ines to Odd" in technician.get(at).words


def test_the_counter_reads_and_the_order_page_tells(app: Flask, counter: PageClient) -> None:
    order_id = opened(app, front_panel(("P1",), (), ()))
    assert "4 pieces came off, 0 reported lost, 0 recorded found inside" in counter.get(f"/orders/{order_id}").words
    page = counter.get(f"/orders/{order_id}/way-back")
    assert not [form for form in page.all("form") if form.get("id") == "done-form"]
    for path in ("removals", "removals/1", "removals/labels", "way-back/all", "way-back/balance", "way-back/step/IN_P1"):
        counter.get(f"/orders/{order_id}/{path}")


def test_a_board_in_the_warmth_holds_up_its_own_steps_and_the_gate(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        make.removal(order, "D1", name="tag board", kind=RemovedKind.PART, stack=(), fasteners={"screw": 2}, place="chassis")
        make.removal(order, "R9", name="rear cover", kind=RemovedKind.PART, stack=(), fasteners={"screw": 1}, place="cabinet")
        leak = findings_service.record_finding(order, FindingFacts(observation="board leaks", area=Area.BOARDS,
                                                                             place="tag board"),
                                       by=BY, now=make.NOW)
        session().flush()
        bake = special_service.start_bake_out(leak, hours=12, celsius=80, by=BY, now=clock.now())
        session().flush()
        order_id, ends = order.id, bake.id
    at = f"/orders/{order_id}/way-back"
    page = technician.get(at)
    assert "Drying or curing" in page.words and "dries until" in page.words
    assert "Fit tag board D1 waits for: the bake-out of finding 1 to end" in page.words
    assert next_form(page).endswith("/do/R9")
    page = technician.send(f"{at}/do/D1", page.fields(f"{at}/do/R9"), status=409)
    assert "waits for the bake-out of finding 1 to end" in page.words
    assert "its board to dry" in technician.get(f"{at}/step/D1").words
    with app.app_context():
        missing = [one.text for one in missing_in(the_order(order_id), Stage.REASSEMBLY)]
        assert any(one.startswith("Finding 1, “") and one.endswith("”: end the bake-out.") for one in missing)
    technician.post(f"/orders/{order_id}/findings/1/bake-out/{ends}/end", {"note": "dry"})
    page = technician.get(at)
    assert "Drying or curing" not in page.words and next_form(page).endswith("/do/D1")
    with app.app_context():
        assert not [m.text for m in missing_in(the_order(order_id), Stage.REASSEMBLY) if "bake-out" in m.text]
