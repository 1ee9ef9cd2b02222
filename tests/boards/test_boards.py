"""Board sheets: verdicts with the meter counted, fates with their reasons, totals."""

from __future__ import annotations

import pytest
from flask import Flask

from app.boards import queries as boards_queries
from app.boards import service as boards_service
from app.boards.rules import BoardKind, Fate, PartKind, Reason, next_reference, part_verdict, totals, why_not_fate
from app.boards.spec import BoardFacts, PositionFacts
from app.db import session, transaction
from app.errors import BadInput
from tests.factories import NOW
from tests.findings.make import order_at
from tests.pages import PageClient
from tests.people import BY


@pytest.mark.parametrize(("kind", "out", "inside", "kind_of_verdict"), [
    # 100k 10 %, meter ±1 %: U = 2 × 1 % × reading / √3 (JCGM 100, 4.3.7), guard band w = U (ILAC-G8:09/2019).
    (PartKind.RESISTOR, 104e3, None, "pass"),
    (PartKind.RESISTOR, 109.5e3, None, "doubt"),  # 110k − 1.26k is the last that passes
    (PartKind.RESISTOR, 110.5e3, None, "doubt"),
    (PartKind.RESISTOR, 112e3, None, "fail"),
    (PartKind.RESISTOR, 88e3, None, "fail"),
    # In circuit, parallel paths only lower a resistance and only raise a capacitance (Kirchhoff).
    (PartKind.RESISTOR, None, 130e3, "fail"),
    (PartKind.RESISTOR, None, 60e3, "doubt"),
    (PartKind.RESISTOR, None, 100e3, "doubt"),
    (PartKind.CAPACITOR, None, 60e3, "fail"),
    (PartKind.CAPACITOR, None, 130e3, "doubt"),
    (PartKind.RESISTOR, None, None, "none"),
])
def test_what_a_reading_says(kind: PartKind, out: float | None, inside: float | None, kind_of_verdict: str) -> None:
    found = part_verdict(kind, nominal=100e3, tolerance=0.1, out_of_circuit=out, in_circuit=inside, percent=1.0)
    assert found.kind == kind_of_verdict


def test_drift_is_signed_and_a_better_meter_decides_more() -> None:
    rough = part_verdict(PartKind.RESISTOR, nominal=1e3, tolerance=0.05, out_of_circuit=1060, in_circuit=None, percent=3)
    fine = part_verdict(PartKind.RESISTOR, nominal=1e3, tolerance=0.05, out_of_circuit=1060, in_circuit=None, percent=0.1)
    assert rough.drift == fine.drift == pytest.approx(0.06)
    assert (rough.kind, fine.kind) == ("doubt", "fail")


@pytest.mark.parametrize("fate", [None, *Fate])
@pytest.mark.parametrize("reason", [None, *Reason])
def test_a_fate_has_a_reason_that_fits(fate: Fate | None, reason: Reason | None) -> None:
    """Common practice, no source."""
    fits = fate is None or (reason is not None and (
        reason in (Reason.ORIGINAL, Reason.ALTERED) if fate is Fate.KEEP else reason is not Reason.ORIGINAL))
    assert (why_not_fate(fate, reason) == "") == fits


def test_totals_count_what_was_altered_earlier_whatever_became_of_it() -> None:
    found = totals([(Fate.KEEP, Reason.ORIGINAL), (Fate.KEEP, Reason.ALTERED), (Fate.REPLACE, Reason.ALTERED),
                    (Fate.REPLACE, Reason.DRIFTED), (None, None)])
    assert (found.kept, found.replaced, found.altered, found.undecided) == (1, 2, 2, 1)


@pytest.mark.parametrize(("last", "following"), [("R12", "R13"), ("C9a", "C10"), ("R09", "R10"), ("LDR", ""), ("", "")])
def test_a_run_goes_on(last: str, following: str) -> None:
    assert next_reference(last) == following


def test_a_sheet_is_entered_in_runs_with_bands_and_notation(technician: PageClient, context: Flask) -> None:
    with transaction():
        order = order_at()
        board = boards_service.record_board(order, BoardFacts("tag board", BoardKind.TAG, meter_percent=1.0), by=BY,
                                     now=NOW)
        session().flush()
        at = f"/orders/{order.id}/boards/{board.id}"
    # IEC 60062: yellow violet orange gold is 47 kΩ 5 %.
    technician.post(at, {"reference": "R7", "bands": "yellow violet orange gold", "tolerance": "10",
                         "measured_out": "52k1", "fate": "replace", "reason": "drifted", "new_part": "47k 2 W metal film"})
    page = technician.get(at)
    assert "47 kΩ" in page.words and "52.1 kΩ" in page.words and "drifted high" in page.words and "+10.9 %" in page.words
    assert page.fields(at)["reference"] == "R8"
    page = technician.post(at, {"kind": "electrolytic", "reference": "C1", "nominal": "22u", "tolerance": "20",
                                "fate": "keep", "reason": "poor quality"})
    assert "A part that is kept is kept original" in page.words
    page = technician.post(at, {"reference": "R7", "nominal": "1k"})
    assert "R7 is on this sheet already." in page.words
    page = technician.post(at, {"reference": "D1", "kind": "diode", "nominal": "1k"})
    assert "A diode has no value to enter." in page.words
    assert boards_queries.totals_of(order).replaced == 1


def test_a_position_is_corrected_and_its_past_kept(technician: PageClient, context: Flask) -> None:
    with transaction():
        order = order_at()
        board = boards_service.record_board(order, BoardFacts("front board", BoardKind.PRINTED), by=BY, now=NOW)
        session().flush()
        made = boards_service.record_position(board, order, PositionFacts("R1", PartKind.RESISTOR, 1e3, 0.1),
                                              by=BY, now=NOW)
        with pytest.raises(BadInput, match="called front board"):
            boards_service.record_board(order, BoardFacts("front  board", BoardKind.TAG), by=BY, now=NOW)
        at = f"/orders/{order.id}/boards/positions/{made.id}"
    technician.post(at, {"measured_out": "1k02", "fate": "keep", "reason": "kept original"})
    page = technician.get(at)
    assert "within tolerance" in page.words and "1 kept original" in page.words
    history = technician.get(f"/history/board_position/{made.id}")
    assert "read out of circuit" in history.words
