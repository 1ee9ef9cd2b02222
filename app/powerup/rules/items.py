"""What one step of a first power-up asks: looked at, or measured against a band that says where it comes from. Pure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from app.measuring.rules import Quantity, say

PRACTICE = "common practice, no source"


class Biased(StrEnum):
    """How the output valves get their bias."""

    FIXED = "fixed"
    CATHODE = "cathode resistor"


class ReadBy(StrEnum):
    """What kind of instrument an item asks for."""

    ANY = "any meter"
    BOND = "earth-bond tester"
    INSULATION = "insulation tester"


class Sort(StrEnum):
    """How an item is done."""

    LOOK = "look"
    READ = "read"
    DISCHARGE = "discharge"  # the discharge record shows it
    BIAS = "bias"  # a round of bias readings
    POWER = "power"  # volts across a measured load
    TRIALS = "trials"
    TEST = "test"  # the safety test shows it


@dataclass(frozen=True)
class Band:
    """What a reading must lie in, in its quantity's unit, and where that comes from."""

    lower: float | None
    upper: float | None
    source: str
    expected: float | None = None


@dataclass(frozen=True)
class Amp:
    """What a run knows of its amp. Volts, ohms, watts; None or empty where nobody has entered or computed it.

    `earth` and `insulation` are the limits of the safety profile with their source, `capacitor_v` the least working voltage of the
    HT capacitors listed, `test_v` what insulation is tested at, `most_a` the most that the mains may give without output valves.
    """

    valve: str
    marks: tuple[str, ...]
    biased: Biased
    small: tuple[str, ...] = ()
    earthed: bool = True
    silicon: bool = True
    heater_v: float = 6.3
    mains_v: float = 230.0
    load_ohm: float | None = None
    expected_w: float | None = None
    expected_source: str = ""
    earth: tuple[float, str] | None = None
    insulation: tuple[float, str] | None = None
    test_v: float | None = None
    capacitor_v: float | None = None
    most_a: tuple[float, str] | None = None


@dataclass(frozen=True)
class Item:
    """One thing of a step. `guards`: a life or a fire hangs on it, so that it is never left “not judged”. `first`: seen to before
    anything else of its step.

    `band` gives what the program knows; an item without one is asked for its band with its source. `fixed`: nobody types another
    one. `within`: the band is this share of an expected value either side. `asks`: the side, "lower" or "upper", on which a band
    guards where the program knows none. `floor`, `ceiling`: no typed band reaches below or above. `kept`: it stands beside another
    item and says nothing by itself: a step goes on without it, and without limits it is a reading and no more.
    """

    key: str
    title: str
    sort: Sort = Sort.READ
    quantity: Quantity | None = None
    hint: str = ""
    guards: bool = False
    band: Band | None = None
    fixed: bool = False
    within: float | None = None
    tester: ReadBy = ReadBy.ANY
    area: str = "output stage"  # of the finding, should it fail
    first: bool = False
    asks: str = ""
    floor: float | None = None
    ceiling: float | None = None
    kept: bool = False

    @property
    def is_read(self) -> bool:
        return self.sort in (Sort.READ, Sort.POWER)


Make = Callable[[Amp], list[Item]]


def look(key: str, title: str, hint: str = "", *, guards: bool = False, area: str = "output stage", first: bool = False) -> Item:
    return Item(key, title, Sort.LOOK, hint=hint, guards=guards, area=area, first=first)


def read(key: str, title: str, quantity: Quantity, band: Band | None = None, *, hint: str = "", guards: bool = False,
         fixed: bool = False, within: float | None = None, tester: ReadBy = ReadBy.ANY, area: str = "output stage",
         asks: str = "", floor: float | None = None, ceiling: float | None = None) -> Item:
    return Item(key, title, Sort.READ, quantity, hint, guards, band, fixed, within, tester, area, False, asks, floor, ceiling)


def why_band_refused(item: Item, typed: Band) -> tuple[str, str]:
    """Why a typed band proves nothing here, and the field it stands in; empty if it does.

    A side that guards is never left out, and a typed limit never lets pass what no sound amp of any kind shows.
    """
    if item.key.startswith("bias:") and (typed.upper is None or typed.upper >= 0):
        return "Bias is negative: enter an upper limit below 0.", "upper"
    for side, words in (("lower", "at least"), ("upper", "at most")):
        wanted = item.asks == side or item.band is not None and getattr(item.band, side) is not None
        if wanted and getattr(typed, side) is None:
            return f"Enter what it must be {words}, too: without that limit nothing would fail.", side
    unit = item.quantity.unit if item.quantity else ""
    if item.floor is not None and typed.lower is not None and typed.lower < item.floor:
        return f"No sound amp reads less than {say(item.floor, unit)} here: enter a higher limit.", "lower"
    if item.ceiling is not None and typed.upper is not None and typed.upper > item.ceiling:
        if item.key == "ht":
            return f"A capacitor on the list is rated {say(item.ceiling, unit)}: no limit above that.", "upper"
        return f"The limit here is {say(item.ceiling, unit)}: enter none above it.", "upper"
    return "", ""


def for_each(marks: tuple[str, ...], item: Item) -> list[Item]:
    """The item once for each valve: its key and title carry the mark."""
    return [replace(item, key=f"{item.key}:{mark}", title=f"{mark}: {item.title}") for mark in marks]


def split(text: str) -> tuple[str, ...]:
    """'V5, V6' as its marks."""
    return tuple(part for part in (one.strip() for one in text.replace(";", ",").split(",")) if part)
