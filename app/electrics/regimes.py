"""Insulation and leakage limits by safety regime, as data with source and status.

A limit of status M is from memory: the document named is where the owner confirms it before it may pass
anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.electrics.earthing import profile_id
from app.electrics.errors import ElectricsError, positive
from app.electrics.extremes import finite_result
from app.electrics.sourced import Sourced, Status

Protection = Literal[
    "I", "I portable", "I unearthed", "II", "III", "heating", "2-wire", "3-wire portable", "3-wire stationary"
]
Quantity = Literal["insulation", "earth leakage", "touch"]


@dataclass(frozen=True)
class RegimeLimit:
    """One limit: least ohms of insulation, or most amperes of earth-leakage or touch current."""

    profile: str
    quantity: Quantity
    protection: str
    value: float
    status: Status
    source: str
    note: str = ""


_VDE = "VDE 0701-0702:2008 table in an M501C tester manual, sect. 21.4"
_IET = "IET Code of Practice 3rd/4th edition figures on three public testing pages; 5th edition not seen"
_IET_5 = "IET Code of Practice, 5th edition of 2020, not seen"
_IET_5_PAGE = "IET Code of Practice, 5th edition, as a training page on its changes has it (5 mA for all equipment)"
_AS = "AS/NZS 3760:2010"
_AS_REPAIR = "AS/NZS 5762 refers to 3760; the edition of 2011 was not seen"
_UL = "UL 8750 cl. 8.7.1 and UL 1711 cl. 39.1 as quoted"
_500V = "500 V DC"


def _rows(
    profile: str, quantity: Quantity, status: Status, source: str, values: dict[str, float], note: str = ""
) -> tuple[RegimeLimit, ...]:
    return tuple(
        RegimeLimit(profile, quantity, who, value, status, source, note) for who, value in values.items()
    )


# Metal of a class I appliance that is not joined to its earth is insulated like class II: from memory in every regime.
_UNEARTHED = "bare metal that is not joined to earth"
_VDE_OHM = {"I": 1e6, "II": 2e6, "III": 0.25e6, "heating": 0.3e6}
REGIME_LIMITS: tuple[RegimeLimit, ...] = (
    *_rows("vde_0701_0702", "insulation", "S", _VDE, _VDE_OHM, _500V),
    *_rows("vde_0701_0702", "insulation", "M", "VDE 0701-0702:2008", {"I unearthed": 2e6}, _UNEARTHED),
    *_rows(
        "vde_0701_0702", "earth leakage", "S", _VDE, {"I": 3.5e-3}, "heating above 3.5 kW: 1 mA/kW to 10 mA"
    ),
    *_rows("vde_0701_0702", "touch", "S", _VDE, {"I": 0.5e-3, "II": 0.5e-3}, "touch or equivalent leakage"),
    *_rows("en_50678", "insulation", "M", "EN 50678:2020", _VDE_OHM, "500 V DC; 250 V with surge arresters"),
    *_rows("en_50678", "earth leakage", "M", "EN 50678:2020", {"I": 3.5e-3}),
    *_rows("en_50678", "insulation", "M", "EN 50678:2020", {"I unearthed": 2e6}, _UNEARTHED),
    *_rows("en_50678", "touch", "M", "EN 50678:2020", {"I": 0.5e-3, "II": 0.5e-3}),
    *_rows("en_50699", "insulation", "M", "EN 50699:2020", _VDE_OHM, "500 V DC; 250 V with surge arresters"),
    *_rows("en_50699", "earth leakage", "M", "EN 50699:2020", {"I": 3.5e-3}),
    *_rows("en_50699", "insulation", "M", "EN 50699:2020", {"I unearthed": 2e6}, _UNEARTHED),
    *_rows("en_50699", "touch", "M", "EN 50699:2020", {"I": 0.5e-3, "II": 0.5e-3}),
    *_rows("iet", "insulation", "S", _IET, _VDE_OHM, "500 V DC; heating below 3 kW"),
    *_rows("iet", "earth leakage", "S", _IET, {"I": 3.5e-3, "I portable": 0.75e-3}),
    *_rows("iet", "touch", "S", _IET, {"II": 0.25e-3, "III": 0.5e-3}),
    *_rows("iet_5", "insulation", "M", _IET_5, _VDE_OHM, "500 V DC; 250 V where parts would conduct"),
    *_rows("iet_5", "earth leakage", "S", _IET_5_PAGE, {"I": 5e-3}),
    *_rows("iet_5", "touch", "S", _IET_5_PAGE, {"II": 5e-3}),
    *_rows(
        "as_nzs_3760", "insulation", "S", _AS + " as a training page has it", {"I": 1e6, "II": 1e6}, _500V
    ),
    *_rows("as_nzs_3760", "earth leakage", "M", _AS, {"I": 5e-3}),
    *_rows("as_nzs_3760", "insulation", "M", _AS, {"I unearthed": 1e6}, _UNEARTHED),
    *_rows("as_nzs_3760", "touch", "M", _AS, {"I unearthed": 1e-3, "II": 1e-3}),
    *_rows("as_nzs_5762", "insulation", "M", _AS_REPAIR, {"I": 1e6, "II": 1e6}, _500V),
    *_rows("as_nzs_5762", "earth leakage", "M", _AS_REPAIR, {"I": 5e-3}),
    *_rows("as_nzs_5762", "insulation", "M", _AS_REPAIR, {"I unearthed": 1e6}, _UNEARTHED),
    *_rows("as_nzs_5762", "touch", "M", _AS_REPAIR, {"I unearthed": 1e-3, "II": 1e-3}),
    *_rows(
        "ul", "touch", "S", _UL, {"2-wire": 0.5e-3, "3-wire portable": 0.5e-3, "3-wire stationary": 0.75e-3}
    ),
    *_rows("iec_61010_1", "touch", "M", "IEC 61010-1", {"I": 0.5e-3, "II": 0.5e-3}, "rms, normal condition"),
    *_rows("iec_62368_1", "touch", "M", "IEC 62368-1 table 4, ES1", {"I": 0.5e-3, "II": 0.5e-3}, "rms"),
)


def _find(profile: str, quantity: Quantity, protection: str, unit: str) -> Sourced:
    wanted = profile_id(profile)
    fitting = [row for row in REGIME_LIMITS if row.profile == wanted and row.quantity == quantity]
    for row in fitting:
        if row.protection.casefold() == str(protection).casefold():
            return Sourced(row.value, unit=unit, status=row.status, source=row.source, note=row.note)
    known = ", ".join(row.protection for row in fitting) or f"none: {wanted} records no {quantity} limit here"
    raise ElectricsError("protection", protection, f"one of {known}")


def insulation_limit(*, profile: str, protection: str) -> Sourced:
    """Least insulation resistance (ohm) under a regime; protection I, I unearthed, II, III or heating.

    ElectricsError if none."""
    return _find(profile, "insulation", protection, "Ω")


def earth_leakage_limit(*, profile: str, protection: str = "I") -> Sourced:
    """Most protective-conductor current (A rms) under a regime; protection I or I portable."""
    return _find(profile, "earth leakage", protection, "A")


def touch_current_limit(*, profile: str, protection: str) -> Sourced:
    """Most touch current (A rms) under a regime; protection I, II, III, or 2-wire, 3-wire portable or
    stationary (ul).
    """
    return _find(profile, "touch", protection, "A")


@finite_result
def equivalent_ohm(*, volt: float, ampere: float) -> float:
    """Resistance (ohm) that would pass the leakage current at these volts; both above zero."""
    return positive("volt", volt) / positive("ampere", ampere)
