"""The insulation test of the way back: its volts by what is fitted, what is unplugged for it, with what it is measured.

Volts: `app.measuring.insulation` says from where. Valves out, boards with semiconductors unplugged: common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app.boards import service as boards_service
from app.boards.rules import BoardKind
from app.boards.rules import PartKind as OnBoard
from app.db import session, transaction
from app.errors import BadInput
from app.findings.rules.life import Disposition
from app.findings.service import outcome as findings_outcome
from app.measuring.models import Instrument, Reading
from app.measuring.rules import Verdict
from app.orders.models import RepairOrder
from app.reassembly.queries.fitting import fitted, to_be_out
from app.reassembly.queries.limits import bench_limit
from app.reassembly.queries.way import way_back
from app.reassembly.service import fitting as fitting_service
from app.reassembly.service import proofs as proofs_service
from app.removals.rules import Kind as RemovedKind
from app.removals.service import outcome as removals_outcome
from tests import factories
from tests.findings import make as found
from tests.measuring import make as meters
from tests.pages import PageClient
from tests.people import BY
from tests.removals import make
from tests.removals.make import NOW
from tests.safety import make as proving

from .test_pages import opened, the_order
from .test_way_back import WHEN, meter, work
from .way_back_cases import transformer


def up_to_insulation() -> RepairOrder:
    """A mains transformer goes back; every lead is joined, its insulation test is next."""
    order = factories.order()
    make.enter(order, transformer())
    work(order, [step.id for step in way_back(order).left], until="IR")
    return order


def the_meter() -> Instrument:
    return session().scalars(sa.select(Instrument).where(Instrument.name == "M1")).first() or meter()


def taken(order: RepairOrder, **given: Any) -> Reading:
    return proofs_service.measure(order, "IR", **{"typed": "500M", "instrument": the_meter(), "level": 500.0, "unplugged": True,
                                                  **WHEN, **given})


def test_it_waits_for_one_answer_and_is_judged_by_it(context: Flask) -> None:
    with transaction():
        order = up_to_insulation()
        assert fitted(order) is None
        with pytest.raises(BadInput, match="fitted between live or neutral and the chassis"):
            taken(order)
        fitting_service.answer_fitted(order, conducts=True, **WHEN)
        session().flush()
        with pytest.raises(BadInput, match="can conduct at 500 V: test at 250 V"):
            taken(order)
        with pytest.raises(BadInput, match="less than the 250 V"):
            taken(order, level=100.0)
        with pytest.raises(BadInput, match="Take the valves out"):
            taken(order, level=250.0, unplugged=False)
        kept = taken(order, level=250.0)
        assert kept.verdict is Verdict.PASS and "IR" in way_back(order).records
        assert kept.condition.startswith("at 250 V DC, live and neutral joined, valves and boards with semiconductors out;")


def test_where_nothing_conducts_less_than_500_v_proves_nothing(context: Flask) -> None:
    with transaction():
        order = up_to_insulation()
        fitting_service.answer_fitted(order, conducts=False, **WHEN)
        session().flush()
        for level, words in ((None, "Enter the tester"), (250.0, "less than the 500 V")):
            with pytest.raises(BadInput, match=words):
                taken(order, level=level)
        with pytest.raises(BadInput, match="is a multimeter: it puts a few volts"):
            taken(order, instrument=meters.instrument("M9"))
        assert taken(order).verdict is Verdict.PASS


def test_what_is_fitted_is_known_from_the_records(context: Flask) -> None:
    """A removal, a board, a finding, a part: the newest counts, also before an answer of earlier; what leaves counts no more."""
    with transaction():
        order = factories.order()
        filtered = make.removal(order, "FL1", kind=RemovedKind.INLET, name="inlet with mains filter", stack=())
        here = fitted(order)
        assert here is not None and here.what == "inlet with mains filter FL1" and here.known == "removal FL1"
        removals_outcome.decide_fate(filtered, order, removals_outcome.Fate.SCRAP, reason="bare inlet instead", **WHEN)
        session().flush()
        assert fitted(order) is None
        seen = found.finding(order, observation="varistor across line and chassis split open")
        session().flush()
        assert (here := fitted(order)) is not None and here.known == f"finding {seen.number}"
        fitting_service.answer_fitted(order, conducts=False, by=BY, now=NOW + timedelta(hours=1))
        session().flush()
        assert (here := fitted(order)) is not None and here.what == "" and here.known == f"answered by {BY.name}"
        board = boards_service.record_board(order, boards_service.BoardFacts("mains board", BoardKind.PRINTED), **WHEN)
        session().flush()
        boards_service.record_position(board, order, boards_service.PositionFacts("RV1", OnBoard.OTHER, note="varistor to earth"),
                                       by=BY, now=NOW + timedelta(hours=2))
        session().flush()
        assert (here := fitted(order)) is not None and here.what == "RV1 of mains board"
        assert to_be_out(order) == ["board mains board"]


def test_a_finding_that_takes_it_out_tells_of_nothing(context: Flask) -> None:
    with transaction():
        order = factories.order()
        seen = found.finding(order, observation="suppressor capacitor from line to chassis")
        assert fitted(order) is not None
        findings_outcome.decide(seen, Disposition.REMOVE_MOD, by=BY, now=NOW)
        session().flush()
        assert fitted(order) is None


def test_valves_that_are_in_and_printed_boards_are_named_to_come_out(context: Flask) -> None:
    with transaction():
        order = factories.order()
        valve = make.removal(order, "V1", kind=RemovedKind.VALVE, name="valve V1", stack=())
        make.removal(order, "PB1", kind=RemovedKind.PRINTED_BOARD, name="reverb board PB1", stack=())
        assert to_be_out(order) == ["reverb board PB1"]
        removals_outcome.end_removal(valve, order, **WHEN)
        session().flush()
        assert to_be_out(order) == ["valve V1", "reverb board PB1"]


def test_its_limit_is_that_of_the_profile_in_force(context: Flask) -> None:
    """Class II: 2 MΩ, class I: 1 MΩ at 500 V (VDE 0701-0702:2008, as a tester's manual prints it)."""
    with transaction():
        order = proving.order()
        assert "no safety profile is in force" in bench_limit(order, "IR").basis
        proving.profile()
        limit = bench_limit(order, "IR")
        assert limit.lower == 1e6 and "VDE 0701-0702" in limit.basis
        order.amp.protection_class = type(order.amp.protection_class).II
        session().flush()
        assert bench_limit(order, "IR").lower == 2e6


def test_the_page_asks_by_one_tap_and_says_volts_why_and_what_is_out(app: Flask, technician: PageClient) -> None:
    order_id = opened(app)
    with app.app_context(), transaction():
        order = the_order(order_id)
        make.enter(order, transformer())
        make.removal(order, "PB1", kind=RemovedKind.PRINTED_BOARD, name="reverb board PB1", stack=(), unit="reverb")
        work(order, [step.id for step in way_back(order).left if step.unit != "reverb"], until="IR")
    at = f"/orders/{order_id}/way-back/measure/IR"
    page = technician.get(at)
    assert "Is a mains filter, suppressor, varistor or surge arrester fitted" in page.words and "Reading" not in page.words
    answer = f"/orders/{order_id}/way-back/fitted/IR"
    page = technician.send(answer, {**page.fields(answer), "conducts": "yes"})
    assert "Test at 250 V DC" in page.words and "3760" in page.words and "reverb board PB1" in page.words
    fields = page.fields(at)
    wrong = technician.send(at, {**fields, "typed": "500M", "level": "500.0", "unplugged": "y"})
    assert "can conduct at 500 V" in wrong.words and "500M" in str(wrong.fields(at))
    page = technician.send(at, {**wrong.fields(at), "typed": "500M", "level": "250.0", "unplugged": "y"})
    assert "pass" in page.words and "The way back" in page.title
