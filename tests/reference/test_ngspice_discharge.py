"""Discharge of a charged capacitor against ngspice run here: times 0.5 %, energy 0.5 %.

Source: Debian's ngspice; the times on record are an earlier independent computation.
"""

import pytest

from app.electrics import discharge_time, stored_energy
from tests.reference import ngspice


def run(*, volt: float, farad: float, ohm: float, targets: tuple[float, ...]) -> dict[str, float]:
    end = 5.0 * ohm * farad
    asked = [f"meas tran t{number} when v(c)={target!r}" for number, target in enumerate(targets)]
    return ngspice.measure(
        "\n".join(
            [
                "* discharge",
                f"c1 c 0 {farad!r} ic={volt!r}",
                f"r1 c 0 {ohm!r}",
                # The energy that reaches the resistor, as the charge of a one-farad capacitor.
                f"b1 0 e i=v(c)*v(c)/{ohm!r}",
                "c2 e 0 1 ic=0",
                f".tran {end / 2000!r} {end!r} 0 {end / 2000!r} uic",
                ".control",
                "run",
                *asked,
                f"meas tran joule find v(e) at={end!r}",
                ".endc",
                ".end",
                "",
            ]
        )
    )


def test_bleeder_of_220_k() -> None:
    """450 V on 100 uF: 44.3 s to 60 V, 48.3 s to 50 V, 83.7 s to 10 V."""
    targets = (60.0, 50.0, 10.0)
    found = run(volt=450.0, farad=100e-6, ohm=220e3, targets=targets)
    for number, (target, on_record) in enumerate(zip(targets, (44.3, 48.3, 83.7), strict=True)):
        seconds = discharge_time(from_v=450.0, to_v=target, ohm=220e3, farad=100e-6)
        assert seconds == pytest.approx(found[f"t{number}"], rel=0.005)
        assert seconds == pytest.approx(on_record, abs=0.06)


def test_discharge_stick_of_10_k() -> None:
    """450 V on 100 uF: 2.015 s to 60 V, 10.125 J into the resistor."""
    found = run(volt=450.0, farad=100e-6, ohm=10e3, targets=(60.0,))
    seconds = discharge_time(from_v=450.0, to_v=60.0, ohm=10e3, farad=100e-6)
    assert seconds == pytest.approx(found["t0"], rel=0.005)
    assert seconds == pytest.approx(2.015, abs=0.001)
    assert stored_energy(100e-6, 450.0) == pytest.approx(found["joule"], rel=0.005)
    assert stored_energy(100e-6, 450.0) == pytest.approx(10.125)
