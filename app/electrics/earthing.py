"""Protective earth: what a lead's conductor measures and what an earth bond may measure, by regime."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from app.electrics.errors import ElectricsError, finite, not_negative, one_of, positive, within, yes_or_no
from app.electrics.extremes import finite_result
from app.electrics.sourced import Sourced, Status

# Maximum ohm/km at 20 °C, plain copper: class 1/2, class 5/6, tinned class 5/6. IEC 60228; seen to 4 mm²
# (three public tables agree), 6 to 16 mm² from memory.
CONDUCTOR_OHM_PER_KM: dict[float, tuple[float, float, float]] = {
    0.5: (36.0, 39.0, 40.1),
    0.75: (24.5, 26.0, 26.7),
    1.0: (18.1, 19.5, 20.0),
    1.5: (12.1, 13.3, 13.7),
    2.5: (7.41, 7.98, 8.21),
    4.0: (4.61, 4.95, 5.09),
    6.0: (3.08, 3.30, 3.39),
    10.0: (1.83, 1.91, 1.95),
    16.0: (1.15, 1.21, 1.24),
}
_SEEN_TO_MM2 = 4.0
_COPPER_OHM_MM2_PER_KM = 17.241


@finite_result
def conductor_ohm(
    *, mm2: float, metre: float, celsius: float = 20, conductor_class: int = 5, tinned: bool = False
) -> float:
    """Greatest resistance (ohm) of one conductor of a lead by IEC 60228, brought to `celsius`.

    mm2: a nominal section 0.5 to 16; metre 0 or more; celsius -40 to 150; conductor_class 1 or 2 (solid,
    stranded) or 5 or 6 (flexible, as mains leads are); tinned for class 5 and 6. Plain copper at another
    temperature: R = R20 (234.5 + t) / 254.5. Raises ElectricsError for anything else.
    """
    section = positive("mm2", mm2)
    if section not in CONDUCTOR_OHM_PER_KM:
        sizes = ", ".join(f"{size:g}" for size in CONDUCTOR_OHM_PER_KM)
        raise ElectricsError("mm2", mm2, f"a nominal section of IEC 60228: {sizes}")
    if finite("conductor_class", conductor_class) not in (1, 2, 5, 6):
        raise ElectricsError("conductor_class", conductor_class, "1, 2, 5 or 6")
    if yes_or_no("tinned", tinned) and conductor_class < 5:
        raise ElectricsError("tinned", tinned, "given for class 5 or 6 only")
    column = 0 if conductor_class < 5 else 2 if tinned else 1
    per_km = CONDUCTOR_OHM_PER_KM[section][column]
    return per_km * not_negative("metre", metre) / 1000.0 * temperature_factor(celsius)


def temperature_factor(celsius: float) -> float:
    """Resistance of copper at `celsius` (-40 to 150) over that at 20 °C, (234.5 + t) / 254.5 (IEC 60228)."""
    return (234.5 + within("celsius", celsius, -40.0, 150.0)) / 254.5


def awg_mm2(awg: float) -> float:
    """Section (mm²) of a solid wire of American gauge 0 to 40: d = 0.127 * 92^((36 - n) / 39) mm (ASTM B258)."""
    number = within("awg", awg, 0.0, 40.0)
    return math.pi / 4.0 * float(0.127 * 92.0 ** ((36.0 - number) / 39.0)) ** 2


@finite_result
def awg_ohm(*, awg: float, metre: float, celsius: float = 20) -> float:
    """Resistance (ohm) of a solid annealed copper wire of American gauge 0 to 40, metre 0 or more."""
    per_km = _COPPER_OHM_MM2_PER_KM / awg_mm2(awg)
    return per_km * not_negative("metre", metre) / 1000.0 * temperature_factor(celsius)


@dataclass(frozen=True)
class BondProfile:
    """An earth-bond rule: its id, regime and edition, how it is meant to be measured, and the rule itself.

    replaced: what has taken the place of this edition and since when; empty while it is the newest that is known.
    """

    id: str
    regime: str
    edition: str
    test_current: str
    rule: Callable[[float, float], Sourced]
    replaced: str = ""


def _limit(ohm: float, status: Status, source: str, note: str = "") -> Sourced:
    return Sourced(ohm, unit="Ω", status=status, source=source, note=note)


_VDE_SOURCE = "VDE 0701-0702:2008 table in an M501C tester manual, sect. 21.4"
_EN_SOURCE = "EN 50678/50699 as a test-instrument support page on the change from 300 to 100 mΩ has it"


def _started_lengths(metre: float) -> int:
    """Started further 7.5 m beyond the first 5 m; the guard keeps 12.5 m from counting as just over."""
    return max(0, math.ceil((metre - 5.0) / 7.5 - 1e-9))


def _stepped(metre: float) -> float:
    return min(1.0, (3 + _started_lengths(metre)) / 10.0)


def _vde(metre: float, mm2: float) -> Sourced:
    if mm2 > 1.5:
        raise ElectricsError(
            "mm2", mm2, "at most 1.5 under this rule; larger sections are computed (en50678)"
        )
    note = "0.3 Ω to 5 m, 0.1 Ω per started further 7.5 m (rounding from memory), at most 1 Ω"
    return _limit(_stepped(metre), "S", _VDE_SOURCE, note)


def _en(metre: float, mm2: float) -> Sourced:
    if mm2 <= 1.5:
        seen = metre <= 5.0
        note = "0.3 Ω to 1.5 mm² and 5 m; longer: 0.1 Ω per started 7.5 m, at most 1 Ω (from memory)"
        return _limit(_stepped(metre), "S" if seen else "M", _EN_SOURCE, note)
    ohm = min(1.0, 0.1 + conductor_ohm(mm2=mm2, metre=metre))
    return _limit(ohm, "M", _EN_SOURCE, "computed: 0.1 Ω plus the conductor (form from memory), at most 1 Ω")


def _iet(metre: float, mm2: float) -> Sourced:
    status: Status = "S" if mm2 <= _SEEN_TO_MM2 else "M"
    ohm = 0.1 + conductor_ohm(mm2=mm2, metre=metre)
    source = "IET Code of Practice, 3rd and 4th edition figures on three public testing pages; 5th not seen"
    return _limit(ohm, status, source, "0.1 Ω plus the protective conductor of the lead, class 5 at 20 °C")


def _iet_5(metre: float, mm2: float) -> Sourced:
    source = "IET Code of Practice, 5th edition of 2020, not seen; the rule of the 3rd and 4th edition"
    return _limit(float(_iet(metre, mm2)), "M", source, "0.1 Ω plus the protective conductor of the lead, class 5 at 20 °C")


def _flat(ohm: float, source: str, note: str) -> Callable[[float, float], Sourced]:
    return lambda _metre, _mm2: _limit(ohm, "M", source, note)


_NO_CORD = "measured from the grounding means at the appliance (inlet, or where the cord is fixed): without the cord"
_VDE_SPLIT = "split in 2021 into EN 50678 (after repair) and EN 50699 (recurrent)"
_IET_5 = "the 5th edition of November 2020"
BOND_PROFILES: tuple[BondProfile, ...] = (
    BondProfile("vde_0701_0702", "VDE 0701-0702", "2008", "above 200 mA, 4 to 24 V open circuit", _vde, _VDE_SPLIT),
    BondProfile("en_50678", "EN 50678 (after repair)", "2020", "above 200 mA (from memory)", _en),
    BondProfile("en_50699", "EN 50699 (recurrent)", "2020", "above 200 mA (from memory)", _en),
    BondProfile("iet", "UK IET Code of Practice", "3rd/4th", "1.5 x fuse to 25 A, or 20 to 200 mA", _iet, _IET_5),
    BondProfile("iet_5", "UK IET Code of Practice", "5th", "100 to 200 mA (from memory)", _iet_5),
    BondProfile(
        "as_nzs_3760", "AS/NZS 3760", "2022", "100 to 200 mA, or 10 or 25 A (from memory)",
        _flat(1.0, "AS/NZS 3760:2010, from memory; the edition of 2022 was not seen", "through the lead, any length"),
    ),
    BondProfile(
        "as_nzs_5762", "AS/NZS 5762 (repaired)", "2011", "as AS/NZS 3760",
        _flat(1.0, "AS/NZS 5762 refers to 3760, from memory; the edition of 2011 was not seen",
              "0.5 Ω is quoted too, unverified"),
    ),
    BondProfile("iec_60065", "IEC 60065", "any", "25 A", _flat(0.1, "IEC 60065, from memory", _NO_CORD)),
    BondProfile(
        "iec_62368_1", "IEC 62368-1", "any", "20 A for 2 min, for one",
        _flat(0.1, "IEC 62368-1 cl. 5.6.6.2, from memory", "circuits to 25 A; " + _NO_CORD),
    ),
    BondProfile(
        "iec_61010_1", "IEC 61010-1", "any", "not recorded", _flat(0.1, "IEC 61010-1, from memory", _NO_CORD)
    ),
    BondProfile("ul", "US UL family", "any", "not recorded", _flat(0.1, "UL family, from memory", _NO_CORD)),
)  # fmt: skip
_ALIASES = {
    "vde": "vde_0701_0702", "vde0701": "vde_0701_0702", "vde07010702": "vde_0701_0702",
    "vde070107022008": "vde_0701_0702", "en506782020": "en_50678", "en506992020": "en_50699",
    "ietcop": "iet", "uk": "iet", "ukiet": "iet", "asnzs": "as_nzs_3760", "asnzs37602010": "as_nzs_3760",
    "asnzs57622005": "as_nzs_5762",
    "asnzs37602022": "as_nzs_3760", "asnzs57622011": "as_nzs_5762", "iet5th": "iet_5", "iet5thedition": "iet_5",
    "iec62368": "iec_62368_1", "iec61010": "iec_61010_1", "us": "ul",
    "usul": "ul",
}  # fmt: skip


def profile_id(name: str) -> str:
    """The id of a regime from any common spelling of it: "VDE 0701-0702", "AS/NZS 3760:2010", "iet".

    Ids: vde_0701_0702, en_50678, en_50699, iet, iet_5, as_nzs_3760, as_nzs_5762, iec_60065, iec_62368_1,
    iec_61010_1, ul. Raises ElectricsError for another.
    """
    ids = {re.sub("[^a-z0-9]", "", profile.id): profile.id for profile in BOND_PROFILES}
    bare = re.sub("[^a-z0-9]", "", name.lower()) if isinstance(name, str) else ""
    return one_of("profile", _ALIASES.get(bare, ids.get(bare, str(name))), tuple(ids.values()))


def bond_profile(name: str) -> BondProfile:
    """The earth-bond profile of a regime, by id or common spelling; ElectricsError for another."""
    wanted = profile_id(name)
    return next(profile for profile in BOND_PROFILES if profile.id == wanted)


def bond_limit(*, profile: str, lead_metre: float, mm2: float) -> Sourced:
    """Greatest protective-earth resistance (ohm) of an appliance with its lead, under one regime.

    profile as in profile_id; lead_metre 0 to 100; mm2 the earth conductor's section, 0.5 to 16. The result is
    a number that carries status S or M and its source; an M limit must be confirmed by the owner, with
    edition and date, before it passes an amplifier. The regimes disagree by design: 0.25 ohm through 3 m
    of 1 mm² passes VDE, fails IET, passes AS/NZS. Raises ElectricsError for sections a rule does not cover.
    Local codes and a licensed person decide which regime applies.
    """
    length = within("lead_metre", lead_metre, 0.0, 100.0)
    section = within("mm2", mm2, 0.5, 16.0)
    return bond_profile(profile).rule(length, section)


@finite_result
def bond_drop(*, ohm: float, ampere: float) -> float:
    """Volts across an earth bond while it is tested: 0.12 ohm at 25 A is 3 V; both zero or more."""
    return not_negative("ohm", ohm) * not_negative("ampere", ampere)
