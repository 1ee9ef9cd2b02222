"""Whatever the numbers, a sum gives finite results or says why not; it never returns NaN or breaks."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import electrics
from app.electrics import ElectricsError

SUMS: list[tuple[Callable[..., Any], list[str]]] = [
    (electrics.stored_energy, ["farad", "volt"]),
    (electrics.stored_charge, ["farad", "volt"]),
    (electrics.holding_volt, ["joule", "farad"]),
    (electrics.discharge_time, ["from_v", "to_v", "ohm", "farad"]),
    (electrics.discharge, ["from_v", "ohm", "farad"]),
    (electrics.esr, ["tan_delta", "farad", "hertz"]),
    (electrics.tan_delta, ["esr_ohm", "farad", "hertz"]),
    (electrics.leakage_limit, ["farad", "rated_v"]),
    (electrics.vintage_leakage_limit, ["farad", "rated_v"]),
    (electrics.reform_leakage, ["resistor_v", "series_ohm"]),
    (electrics.board_leakage, ["source_v", "meter_v", "meter_ohm"]),
    (electrics.loaded_reading, ["true_v", "source_ohm", "meter_ohm"]),
    (electrics.unloaded, ["reading_v", "source_ohm", "meter_ohm"]),
    (electrics.meter_input_ohm, ["true_v", "reading_v", "source_ohm"]),
    (electrics.drift, ["nominal", "measured"]),
    (electrics.nearest, ["ohm"]),
    (electrics.derated_watt, ["rated_watt", "ambient_c"]),
    (electrics.awg_ohm, ["awg", "metre"]),
    (electrics.bond_drop, ["ohm", "ampere"]),
    (electrics.equivalent_ohm, ["volt", "ampere"]),
    (electrics.preferred_fuse, ["va", "mains_v"]),
    (electrics.judge, ["value", "lower", "upper", "uncertainty"]),
    (electrics.meter_uncertainty, ["reading", "percent", "counts", "resolution"]),
    (electrics.energy_hazard, ["farad", "volt"]),
]
NUMBERS = st.floats() | st.sampled_from([0.0, 1e-300, 5e-324, 1e160, 1e308, 1.0, 450.0, 20.0])


@pytest.mark.parametrize(("sum_", "names"), SUMS, ids=lambda value: getattr(value, "__name__", ""))
@given(data=st.data())
def test_finite_or_refused(sum_: Callable[..., Any], names: list[str], data: st.DataObject) -> None:
    arguments = {name: data.draw(NUMBERS, label=name) for name in names}
    try:
        result = sum_(**arguments)
    except ElectricsError as refusal:
        assert "must be" in str(refusal)
        return
    figures = dataclasses.astuple(result) if dataclasses.is_dataclass(result) else (result,)  # type: ignore[arg-type]
    assert all(math.isfinite(figure) for figure in figures if isinstance(figure, float))


@pytest.mark.parametrize(
    "run",
    [
        lambda: electrics.stored_energy(1e-6, 1e160),
        lambda: electrics.stored_energy(1e308, 450.0),
        lambda: electrics.esr(tan_delta=1.0, farad=1e-300, hertz=1e-300),
        lambda: electrics.discharge(from_v=1e9, ohm=1e-300, farad=1.0),
        lambda: electrics.expected_band(1e308, tolerances=[0.9]),
        lambda: electrics.product_uncertainty([(1e200, 1.0), (1e200, 1.0)]),
    ],
)
def test_a_result_no_float_can_hold_names_the_sum_and_what_it_was_given(run: Callable[[], Any]) -> None:
    with pytest.raises(ElectricsError, match=r"\(.*\) is inf; it must be a finite result"):
        run()
