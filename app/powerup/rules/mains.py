"""What the mains transformer is asked for, against what it is rated for, and the fuse that its current comes to. Pure.

Volts, amperes, volt-amperes. The plate's fuse comes first: this is for checking one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from app.electrics import ElectricsError
from app.electrics.fuses import FuseChoice, preferred_fuse
from app.electrics.supply.reservoir import capacitor_input
from app.electrics.valves import Valve, as_valve

MAGNETISING_ALLOWANCE = 1.30  # above the calculated or stated no-load current: common practice, no source
_COUNTED = re.compile(r"(?:(\d{1,2})\s*[x×*]\s*)?(\S.*)")


@dataclass(frozen=True)
class Winding:
    """One kind of valve on the heater winding: how many, amperes of each, and where that figure is from."""

    valve: str
    count: int
    ampere: float
    source: str


@dataclass(frozen=True)
class Asked:
    """What is known of the transformer and of what hangs on it; None where it is not known.

    `ht_vrms`: of the winding, each half of a centre-tapped one. `ht_a`: mean direct current drawn from the reservoir.
    """

    heaters: str
    heater_v: float
    mains_v: float
    mains_hz: float
    heater_winding_a: float | None = None
    ht_vrms: float | None = None
    rectifier: str = "bridge"
    source_ohm: float | None = None
    reservoir_farad: float | None = None
    ht_a: float | None = None
    rated_va: float | None = None
    no_load_a: float | None = None
    region: str = "IEC"


@dataclass(frozen=True)
class MainsFound:
    """Heaters, HT and the whole, with shares of what the transformer is rated for; None where that cannot be said.

    `primary_a` leaves out the no-load current and the losses; `fuse` is proposed from it.
    """

    windings: tuple[Winding, ...]
    heater_a: float
    heater_va: float
    heater_share: float | None
    ht_va: float | None
    va: float | None
    rated_share: float | None
    primary_a: float | None
    most_no_load_a: float | None
    fuse: FuseChoice | None
    notes: tuple[str, ...]


def heater_windings(text: str, heater_v: float) -> tuple[Winding, ...]:
    """'4x 12AX7, 2x EL34' as amperes on a winding of so many volts. ElectricsError for a valve or heater that is not known."""
    found = []
    for part in re.split(r"[,;\n]", text):
        if not part.strip():
            continue
        match = _COUNTED.fullmatch(part.strip())
        if match is None:
            raise ElectricsError("heaters", part.strip(), "a number and a valve, such as 2x EL34")
        try:
            entry = as_valve(match[2].strip())
        except ElectricsError as wrong:
            raise ElectricsError("heaters", match[2].strip(), "the name of a valve that is known here") from wrong
        found.append(_winding(entry, int(match[1] or 1), heater_v))
    if not found:
        raise ElectricsError("heaters", text, "the valves on the heater winding, such as 4x 12AX7, 2x EL34")
    return tuple(found)


def _winding(entry: Valve, count: int, heater_v: float) -> Winding:
    heater = next((one for one in entry.heaters if abs(one.volt - heater_v) <= 0.05 * heater_v), None)
    if heater is None:
        raise ElectricsError("heaters", entry.name, f"a valve whose heater runs at {heater_v:g} V")
    doubt = ", from memory" if heater.source.mark == "M" else ""
    return Winding(entry.name, count, heater.ampere, f"{entry.name} data sheet{doubt}")


def load_of(asked: Asked) -> MainsFound:
    """The sum. ElectricsError names the argument."""
    windings = heater_windings(asked.heaters, asked.heater_v)
    heater_a = sum(one.count * one.ampere for one in windings)
    heater_va, notes = heater_a * asked.heater_v, ["Losses and no-load current of the transformer are not in the sum."]
    ht_va = _ht(asked, notes)
    va = None if ht_va is None else heater_va + ht_va
    primary = None if va is None else va / asked.mains_v
    fuse = None if va is None else preferred_fuse(va=va, mains_v=asked.mains_v, region=asked.region)
    if fuse is not None:
        notes.append("The fuse on the plate or the schematic comes first; this one is for checking it.")
    return MainsFound(windings, heater_a, heater_va, _share(heater_a, asked.heater_winding_a), ht_va, va,
                      _share(va, asked.rated_va), primary,
                      None if asked.no_load_a is None else MAGNETISING_ALLOWANCE * asked.no_load_a, fuse, tuple(notes))


def _ht(asked: Asked, notes: list[str]) -> float | None:
    if asked.ht_vrms is None or asked.ht_a is None or asked.source_ohm is None or asked.reservoir_farad is None:
        notes.append("Without HT winding, its resistance, reservoir and current there is no sum of the whole, and no fuse.")
        return None
    supply = capacitor_input(secondary_vrms=asked.ht_vrms, rectifier=asked.rectifier, source_ohm=asked.source_ohm,
                             reservoir_farad=asked.reservoir_farad, mains_hz=asked.mains_hz, load_a=asked.ht_a)
    # In a centre-tapped winding each half carries its own pulses: the primary sees both halves.
    legs = 2.0**0.5 if asked.rectifier == "full_wave_ct" else 1.0
    return asked.ht_vrms * supply.winding_rms_a * legs


def _share(found: float | None, rated: float | None) -> float | None:
    return None if found is None or not rated else found / rated
