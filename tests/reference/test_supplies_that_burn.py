"""Six supplies that burn their rectifier and six that its maker published or allows; `pytest -s` prints both.

Sources, per row: S seen (tubeofile.com quotes of the 5Z3, GZ37, EZ40 and 5Y3 sheets; a public thread for the EZ81's peak),
M from memory of the maker's sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from app.electrics import Limit, capacitor_input, rectifier_limits


@dataclass(frozen=True)
class Supply:
    valve: str
    volts: float  # rms of each leg
    ohm: float
    farad: float
    ampere: float
    why: str
    mark: str


BURN = [
    Supply("5Y3GT", 350, 50, 200e-6, 0.300, "125 mA and 20 uF at most", "S"),
    Supply("GZ34", 400, 100, 220e-6, 0.200, "60 uF at most", "S"),
    Supply("5U4G", 450, 20, 40e-6, 0.200, "75 ohm at least at 450 V", "S"),
    Supply("EZ80", 350, 125, 50e-6, 0.140, "90 mA at most, 300 ohm at least at 350 V (EZ40, electrically identical)", "S"),
    Supply("GZ34", 600, 250, 20e-6, 0.100, "1500 V reverse at most: 600-0-600 V gives 1697 V", "M"),
    Supply("5V4GA", 375, 100, 10e-6, 0.300, "175 mA at most", "M"),
]
HOLD = [
    Supply("GZ34", 450, 125, 60e-6, 0.250, "a row of the sheet's own table", "M"),
    Supply("GZ34", 550, 175, 60e-6, 0.160, "a row of the sheet's own table", "M"),
    Supply("5U4G", 450, 75, 40e-6, 0.225, "a row of the sheet (5Z3, electrically identical)", "S"),
    Supply("5Y3GT", 350, 50, 20e-6, 0.125, "a row of the sheet; 125 mA and 20 uF seen", "M"),
    Supply("EZ80", 350, 300, 50e-6, 0.090, "a row of the sheet (EZ40, electrically identical)", "S"),
    Supply("EZ81", 350, 230, 50e-6, 0.150, "a row of the sheet", "M"),
]


def judged(one: Supply) -> tuple[Limit, ...]:
    supply = capacitor_input(secondary_vrms=one.volts, rectifier="full_wave_ct", source_ohm=one.ohm, reservoir_farad=one.farad,
                             mains_hz=50.0, load_a=one.ampere, drop=one.valve)
    found = rectifier_limits(rectifier_valve=one.valve, supply=supply, source_ohm=one.ohm, reservoir_farad=one.farad)
    decides = next(limit for limit in found if limit.decides)
    print(f"{one.valve:6} {one.volts:g} V {one.ohm:g} ohm {one.farad * 1e6:g} uF {one.ampere * 1e3:g} mA: "
          f"{decides.name} {decides.share:.0%} of its limit, {decides.verdict} ({one.why}, {one.mark})")
    return found


@pytest.mark.parametrize("one", BURN, ids=lambda one: f"{one.valve}-{one.volts:g}-{one.farad * 1e6:g}uF")
def test_a_supply_that_burns_is_above_a_limit(one: Supply) -> None:
    assert any(limit.decides and limit.verdict == "above" for limit in judged(one))


@pytest.mark.parametrize("one", HOLD, ids=lambda one: f"{one.valve}-{one.volts:g}-{one.farad * 1e6:g}uF")
def test_a_supply_that_the_sheet_has_is_above_none(one: Supply) -> None:
    assert all(limit.verdict != "above" for limit in judged(one))


def test_there_are_six_of_each() -> None:
    assert len(BURN) == len(HOLD) == 6
