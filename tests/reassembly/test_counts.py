"""Counts that are counted: a figure for every class that is due, the cover's own pieces by bag, and two blind counts at a change.

What surgical count practice and aviation foreign-object guides ask: count before a cavity closes, class by class, and when staff
change; a blank is no count (from memory of published guides).
"""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.access import service as people
from app.access import trying
from app.access.models import Person
from app.db import session, transaction
from app.errors import BadInput
from app.measuring.models import Instrument
from app.measuring.rules import Verdict
from app.orders.gates import missing_in
from app.orders.stages import Stage
from app.reassembly.queries.due import Due, due_at, ends_due
from app.reassembly.queries.limits import bench_limit
from app.reassembly.queries.way import counts_of, handovers_of, way_back
from app.reassembly.queries.work import balance_of
from app.reassembly.service import counts as counts_service
from app.reassembly.service import proofs as proofs_service
from app.removals import queries as removals
from app.removals.rules import Fate, Went, WireEnd
from app.removals.rules import Kind as RemovedKind
from app.removals.service import outcome as outcome_service
from app.removals.service import pieces as pieces_service
from tests import factories
from tests.pages import PageClient
from tests.people import BY, PASSWORD, Cast
from tests.removals import make
from tests.removals.make import NOW
from tests.safety import make as safety

from .test_pages import opened, the_order
from .test_way_back import WHEN, counted, meter, work
from .way_back_cases import front_panel, octal_base, transformer


def covered(order: object) -> str:
    """A board with two screws under a lid with four in bag C1; all but the lid is on. The count before the lid."""
    make.removal(order, "LID", kind=RemovedKind.COVER, name="lid", stack=(), fasteners={"screw": 4}, bag="C1", stays_on_loom=False)
    make.removal(order, "B1", kind=RemovedKind.PART, name="board", stack=(), fasteners={"screw": 2, "nut": 2}, bag="B1",
                 stays_on_loom=False)
    work(order, ["B1"])
    way = way_back(order)
    return next(name for name, (what, _) in way.origins.items() if what == "CT")


def test_a_blank_is_no_count(context: Flask) -> None:
    with transaction():
        order = factories.order()
        count = covered(order)
        due = due_at(order, way_back(order), count)
        assert set(due) == {Due("C1", "screw", 4), Due("", "screw", 0), Due("", "nut", 0)}
        for left_out in due:
            some = {one.key: one.expected for one in due if one is not left_out}
            with pytest.raises(BadInput, match="Enter how many; 0 if there are none"):
                counts_service.count_closure(order, count, counted=some, looked=True, **WHEN)
        assert not counts_of(order) and count not in way_back(order).records


def test_the_covers_own_pieces_are_expected_in_its_bag(context: Flask) -> None:
    """Counting honestly is no shortage: four screws lie in the lid's bag, and three would be one too few."""
    with transaction():
        order = factories.order()
        count = covered(order)
        figures = counted(order, count)
        short = counts_service.count_closure(order, count, counted={**figures, ("C1", "screw"): 3}, looked=True, **WHEN)
        assert (short.closed, short.faults) == (False, ["C1: 3 screw counted, 4 belong there for lid."])
        tray = counts_service.count_closure(order, count, counted={**figures, ("", "screw"): 1}, looked=True, **WHEN)
        assert not tray.closed and "1 left in the tray" in tray.faults[0]
        kept = counts_service.count_closure(order, count, counted=figures, looked=True, **WHEN)
        assert kept.closed and (kept.left, kept.open) == ({"screw": 4}, {"screw": 4, "nut": 0})


def test_no_green_word_stands_before_the_count(app: Flask, technician: PageClient) -> None:
    """Nothing is open by the ledger, and still nobody has counted."""
    order_id = opened(app, front_panel(("P1",), (), ()), "IN_P1 BODY_P1 FAS OVER_P1 NUT_P1 ALIGN TIGHT_P1 KNOB_P1")
    at = f"/orders/{order_id}"
    for path in ("way-back", "way-back/count/CT", "way-back/balance", ""):
        page = technician.get(f"{at}/{path}".rstrip("/"))
        assert "not counted yet" in page.words or path == "way-back/count/CT", path
        assert "every class is at nought" not in page.words and "it balances" not in page.words, path
    page = technician.post(f"{at}/way-back/count/CT", {"looked": "y"})
    assert "Enter how many; 0 if there are none" in page.words
    fields = {name: "0" for name in technician.get(f"{at}/way-back/count/CT").fields(f"{at}/way-back/count/CT")
              if name.startswith("piece_")}
    assert len(fields) == 4
    page = technician.post(f"{at}/way-back/count/CT", {"looked": "y", **fields})
    assert "every class was counted and matches" in page.words and "Reassembly complete" in page.words
    assert "not counted yet" not in technician.get(f"{at}/way-back/balance").words


def test_the_ledger_is_shown_after_the_count_and_not_before(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1",), (), ()), "IN_P1 BODY_P1 FAS OVER_P1 NUT_P1 ALIGN TIGHT_P1 KNOB_P1")
    at = f"/orders/{order_id}/way-back/count/CT"
    assert "By the ledger" not in technician.get(at).words
    figures = {f"piece_{number}": "0" for number in range(4)}
    page = technician.post(at, {"looked": "y", **figures, "piece_2": "1"})
    assert "By the ledger" in page.words and "1 left in the tray" in page.words


def test_after_a_count_that_did_not_close_only_what_differed_is_counted_again(app: Flask, technician: PageClient) -> None:
    order_id = opened(app, front_panel(("P1",), (), ()), "IN_P1 BODY_P1 FAS OVER_P1 NUT_P1 ALIGN TIGHT_P1 KNOB_P1")
    at = f"/orders/{order_id}/way-back/count/CT"
    assert set(technician.get(at).fields(at).values()) & {"0", "1"} == set()
    page = technician.post(at, {"looked": "y", **{f"piece_{number}": "0" for number in range(4)}, "piece_2": "1"})
    again = page.fields(at)
    assert [again.get(f"piece_{number}", "") for number in range(4)] == ["0", "0", "", "0"]
    assert "looked" not in again and "Count again what is empty" in page.words


def test_a_wire_end_is_no_loose_piece_and_needs_no_bag(context: Flask) -> None:
    with transaction():
        order = factories.order()
        lead = make.removal(order, "W1", kind=RemovedKind.WIRE, name="live lead", stack=(), bag="", fixed_to="T1",
                            ends=(WireEnd("1", colour="brown"),), stays_on_loom=True)
        assert removals.line_of(lead, order).pieces == {} and removals.line_of(lead, order).untagged == ""
        assert "wire end" not in balance_of(order).open
        assert not [one for one in missing_in(order, Stage.TEARDOWN) if one.endpoint == "removals.one"]


def test_what_an_older_version_entered_of_wire_ends_weighs_nothing(context: Flask) -> None:
    with transaction():
        order = factories.order()
        lead = make.removal(order, "W1", kind=RemovedKind.WIRE, name="lead", stack=(), fixed_to="T1", ends=(WireEnd("1"),))
        pieces_service.enter_pieces(order, "wire end", Went.REFITTED, 1, removal=lead, **WHEN)
        assert balance_of(order).closed and removals.line_of(lead, order).open == {}


def test_staying_on_its_loom_clears_the_bag_of_what_has_no_loose_piece(context: Flask) -> None:
    with transaction():
        order = factories.order()
        lead = make.removal(order, "W1", kind=RemovedKind.WIRE, name="lead", stack=(), bag="tray 3", stays_on_loom=True)
        pot = make.removal(order, "P1", bag="tray 4", stays_on_loom=True)
        assert (lead.bag, pot.bag) == ("", "tray 4")


def test_wire_ends_are_counted_as_joined(context: Flask) -> None:
    """Two leads with three ends at T1: the count asks for three, and two do not close it. A base that is verified has its own."""
    with transaction():
        order = factories.order()
        make.removal(order, "W1", kind=RemovedKind.WIRE, name="lead 1", stack=(), fixed_to="T1", ends=(WireEnd("1"), WireEnd("2")))
        make.removal(order, "W2", kind=RemovedKind.WIRE, name="lead 2", stack=(), fixed_to="T1", ends=(WireEnd("3"),))
        way = way_back(order)
        work(order, [step.id for step in way.left if way.kind(step.id) != "counted"])
        count = way_back(order).left[0].id
        assert ends_due(way_back(order), count) == 3
        with pytest.raises(BadInput, match="Count the wire ends"):
            counts_service.count_closure(order, count, counted=counted(order, count), looked=True, **WHEN)
        two = counts_service.count_closure(order, count, counted=counted(order, count), ends=2, looked=True, **WHEN)
        assert two.faults == ["2 wire ends counted as joined, 3 came off."]
        assert counts_service.count_closure(order, count, counted=counted(order, count), ends=3, looked=True, **WHEN).closed


def test_a_base_that_is_its_own_last_count_asks_for_its_pieces_too(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, octal_base())
        work(order, [step.id for step in way_back(order).left], until="V")
        with pytest.raises(BadInput, match="Enter how many; 0 if there are none"):
            counts_service.count_base(order, "V", ends=13, counted={}, looked=True, **WHEN)
        assert counts_service.count_base(order, "V", ends=13, counted=counted(order, "V"), looked=True, **WHEN).closed


def test_a_technician_change_is_counted_twice_and_blind(context: Flask, cast: Cast) -> None:
    """The second count sees no figure of the first; where they differ it is said in which class, not how many."""
    with transaction():
        order = factories.order()
        make.removal(order, "P1")
        still = {"knob": 1, "nut": 1, "flat washer": 1, "toothed washer": 1}
        given = counts_service.change_technician(order, to_id=cast.second.id, to_name="Odd", counted=still,
                                                 by=cast.technician.actor, now=NOW)
        assert given.waits and given.second == {}
        with pytest.raises(BadInput, match=r"^Your count differs in nut\. Count it again, or say what explains it\.$"):
            counts_service.take_over(given, order, counted={**still, "nut": 0}, proof="PIN", by=cast.second.actor, now=NOW)
        with pytest.raises(BadInput, match="Enter how many; 0 if there are none"):
            counts_service.take_over(given, order, counted={"nut": 1}, proof="PIN", by=cast.second.actor, now=NOW)
        with pytest.raises(BadInput, match="Odd takes over"):
            counts_service.take_over(given, order, counted=still, proof="PIN", by=cast.technician.actor, now=NOW)
        counts_service.take_over(given, order, counted=still, proof="PIN", by=cast.second.actor, now=NOW)
        assert not given.waits and given.second == still and given.second_proof == "PIN"


def test_the_second_person_proves_who_it_is_on_the_page(app: Flask, technician: PageClient, cast: Cast) -> None:
    order_id = opened(app, front_panel(("J3",), (), ()))
    at = f"/orders/{order_id}/way-back/handover"
    page = technician.post(at, {"to": str(cast.second.id), "piece_0": "1", "piece_1": "1", "piece_2": "1"})
    assert "Odd counts now, without seeing the first count" in page.words and "1 nut" not in page.words
    with app.app_context():
        take = f"{at}/{handovers_of(the_order(order_id))[-1].id}/take"
    page = technician.post(take, {"piece_0": "1", "piece_1": "1", "piece_2": "1", "secret": "wrong horse"})
    assert "Wrong name or password." in page.words
    with app.app_context():
        assert handovers_of(the_order(order_id))[-1].waits
    page = technician.post(take, {"piece_0": "1", "piece_1": "1", "piece_2": "1", "secret": PASSWORD})
    assert "Odd has taken over" in page.words
    with app.app_context():
        kept = handovers_of(the_order(order_id))[-1]
        assert not kept.waits and kept.second_proof == "password"
        assert session().get_one(Person, cast.second.id).name == "Odd"


def test_a_pin_proves_the_second_person_on_an_enrolled_device(context: Flask, cast: Cast) -> None:
    with transaction():
        person = session().get_one(Person, cast.second.id)
        people.set_pin(person, "739164", by=BY, now=NOW)
    assert trying.pin(person, "739164", None, now=NOW) == "This device is not enrolled. Sign in with the password."


def test_the_earth_proof_is_held_against_the_profile_in_force(context: Flask) -> None:
    """AS/NZS 3760 gives 1 Ω through the lead (from memory); with no profile in force the bench sequence's 0.3 Ω stops it."""
    with transaction():
        order = factories.order()
        none = bench_limit(order, "PE")
        assert (none.upper, "no safety profile is in force" in none.basis) == (0.3, True)
        profile = safety.profile("as_nzs_3760")
        limit = bench_limit(order, "PE")
        assert limit.upper == 1.0 and profile.title in limit.basis


def test_isolation_is_held_against_a_stated_expectation_or_explained(context: Flask) -> None:
    """With the 0 V lead on, a jack reads what lies across it: 10 kΩ expected from the drawing, or a deviation with its words."""
    with transaction():
        order = factories.order()
        make.enter(order, front_panel(("J1",), (), ("J1",)))
        instrument = meter()
        work(order, ["IN_J1", "BODY_J1", "FAS", "OVER_J1", "NUT_J1", "ALIGN", "TIGHT_J1"])
        low = {"typed": "10k", "instrument": instrument, **WHEN}
        assert proofs_service.measure(order, "ISO", **low).verdict is Verdict.FAIL
        with pytest.raises(BadInput, match="Enter what the expectation rests on"):
            proofs_service.measure(order, "ISO", lower=9000.0, **low)
        with pytest.raises(BadInput, match="Enter why it is acceptable"):
            proofs_service.stand_by(order, "ISO", words=" ", **WHEN)
        proofs_service.stand_by(order, "ISO", words="0 V lead is on: R12 10 kΩ to chassis, by the drawing", **WHEN)
        record = way_back(order).records["ISO"]
        assert record.note.startswith("Deviation: 0 V lead is on") and record.reading_id is not None


def test_isolation_passes_a_stated_expectation_with_its_basis(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, front_panel(("J1",), (), ("J1",)))
        instrument = meter()
        work(order, ["IN_J1", "BODY_J1", "FAS", "OVER_J1", "NUT_J1", "ALIGN", "TIGHT_J1"])
        kept = proofs_service.measure(order, "ISO", typed="900k", instrument=instrument, lower=5e5, upper=2e6,
                                      basis="R12 910 kΩ across it, drawing sheet 2", **WHEN)
        assert (kept.verdict, kept.basis) == (Verdict.PASS, "R12 910 kΩ across it, drawing sheet 2")
        assert "ISO" in way_back(order).records


def test_an_earth_that_fails_cannot_be_explained_away(context: Flask) -> None:
    with transaction():
        order = factories.order()
        make.enter(order, transformer())
        work(order, ["G1", "G2", "CL", "T", "BA", "BB", "BC", "BD", "NA", "NB", "ND", "EC", "X", "LK"])
        proofs_service.measure(order, "PE", typed="1.4", instrument=session().scalars(sa.select(Instrument)).one(), **WHEN)
        with pytest.raises(BadInput, match="cannot be explained away"):
            proofs_service.stand_by(order, "PE", words="it is only a little", **WHEN)
        assert "PE" not in way_back(order).records


def test_a_later_change_takes_the_word_back(context: Flask) -> None:
    """What is opened again is not counted any more, whatever was said before."""
    with transaction():
        order = factories.order()
        off = make.enter(order, front_panel(("P1",), (), ()))
        work(order, [step.id for step in way_back(order).left])
        assert way_back(order).counted_whole
        outcome_service.reopen_removal(off["P1"], order, reason="look again", by=BY, now=NOW + timedelta(hours=1))
        assert not balance_of(order).closed
        outcome_service.decide_fate(off["P1"], order, Fate.HOLD, reason="to be measured", by=BY, now=NOW + timedelta(hours=1))
        assert not way_back(order).counted_whole


def test_a_count_before_the_second_closure_leaves_that_ones_pieces_in_their_bag(context: Flask) -> None:
    """Cover, then sleeve: the sleeve's own bolts are expected by bag at its count, and the count closes."""
    with transaction():
        order = factories.order()
        sleeve = make.removal(order, "SLV", kind=RemovedKind.CHASSIS, name="sleeve SLV", stack=(), bag="S1",
                              fasteners={"bolt": 4}, stays_on_loom=False)
        cover = make.removal(order, "BP", kind=RemovedKind.COVER, name="bottom plate BP", stack=(), bag="C1",
                             fasteners={"screw": 4}, stays_on_loom=False)
        part = make.removal(order, "X1", kind=RemovedKind.PART, name="plate X1", stack=(), fasteners={"nut": 2}, bag="X", unit="",
                            stays_on_loom=False)
        make.put_under(cover, sleeve)
        make.put_under(part, cover)
        way = way_back(order)
        second = next(step for step, (what, mark) in way.origins.items() if (what, mark) == ("CT_cover", "SLV"))
        work(order, [step.id for step in way.left], until=second)
        assert ("S1", "bolt") in {one.key for one in due_at(order, way_back(order), second)}
        work(order, [step.id for step in way_back(order).left])
        assert way_back(order).finished
