"""Which capacitors an amp's supplies have, as people type them. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.electrics import ElectricsError, parse
from app.errors import BadInput
from app.measuring.rules import say

MOST = 30  # capacitors of one supply: as many as the chain's sum takes


class Supply(StrEnum):
    """Of which supply: HT is positive, the bias supply negative."""

    HT = "HT"
    BIAS = "bias"

    @property
    def words(self) -> str:
        return {"HT": "HT supply", "bias": "Bias supply, negative"}[self.value]


class Origin(StrEnum):
    """Where a list was taken from."""

    TYPED = "typed"
    BOARDS = "board sheets"
    USUAL = "usual layout"
    EARLIER = "earlier repair"


@dataclass(frozen=True)
class Capacitor:
    """One capacitor: farads, volts working, ohms from the one before (None: the first; 0: across it), node and supply."""

    name: str
    node: str
    farad: float
    working_v: float
    fed_ohm: float | None
    supply: Supply = Supply.HT


@dataclass(frozen=True)
class Layout:
    """A list as somebody types it, in bench notation, one supply beside the other."""

    farads: str = ""
    ohms: str = ""
    volts: str = ""
    names: str = ""
    bias_farads: str = ""
    bias_ohms: str = ""
    bias_volts: str = ""
    no_bias: bool = False


@dataclass(frozen=True)
class Usual:
    """A layout that many amps share, to start from."""

    key: str
    words: str
    layout: Layout


# Common practice, no source: what many amps carry. For the record only their number and order matter.
USUAL: tuple[Usual, ...] = (
    Usual("four-fixed", "four nodes, fixed bias", Layout("47u, 47u, 22u, 22u", "1k, 22k, 47k", "500", "", "50u", "", "100")),
    Usual("three-fixed", "three nodes, fixed bias", Layout("47u, 22u, 22u", "1k, 10k", "500", "", "50u", "", "100")),
    Usual("three-cathode", "three nodes, cathode bias", Layout("22u, 22u, 22u", "1k, 22k", "450", no_bias=True)),
)


def split(text: str) -> list[str]:
    """'47u, 47u; 22u' in pieces."""
    return [one for one in re.split(r"[;,\s]+", text.strip()) if one]


def read_layout(typed: Layout) -> tuple[Capacitor, ...]:
    """The capacitors that a typed list means. BadInput names the field and says what to enter."""
    ht = _supply(Supply.HT, typed.farads, typed.ohms, typed.volts, ("farads", "ohms", "volts"))
    names = split(typed.names)
    if names and (len(names) != len(ht) or len({one.lower() for one in names}) != len(names)):
        raise BadInput(f"Enter {len(ht)} different names, one for each capacitor, or none.", "names")
    if names:
        ht = [Capacitor(name, one.node, one.farad, one.working_v, one.fed_ohm) for name, one in zip(names, ht, strict=True)]
    if typed.no_bias:
        if typed.bias_farads.strip():
            raise BadInput("Enter the bias capacitors, or say that there is no bias supply; not both.", "bias_farads")
        return tuple(ht)
    if not typed.bias_farads.strip():
        raise BadInput("Enter the capacitors of the bias supply, or tick that it has none.", "bias_farads")
    bias = _supply(Supply.BIAS, typed.bias_farads, typed.bias_ohms, typed.bias_volts, ("bias_farads", "bias_ohms", "bias_volts"))
    taken = {one.name.lower() for one in ht}
    if doubled := next((one.name for one in bias if one.name.lower() in taken), ""):
        raise BadInput(f"{doubled} is the name of a bias capacitor: name the HT capacitor otherwise.", "names")
    return (*ht, *bias)


def _supply(supply: Supply, farads: str, ohms: str, volts: str, fields: tuple[str, str, str]) -> list[Capacitor]:
    values = _values(farads, "F", fields[0], 1e-9, 1.0, "a capacitance such as 47u")
    if not 1 <= len(values) <= MOST:
        raise BadInput(f"Enter 1 to {MOST} capacitors, from the rectifier on, such as 47u, 47u, 22u, 22u.", fields[0])
    between = _values(ohms, "ohm", fields[1], 0.0, 1e9, "a resistor such as 22k, or 0 for one across the one before")
    if len(between) != len(values) - 1:
        raise BadInput(f"{len(values)} capacitors have {len(values) - 1} resistors between them; here are {len(between)}. "
                       "Enter 0 between two on one node, and a choke by its winding’s resistance.", fields[1])
    working = _values(volts, "V", fields[2], 1.0, 5000.0, "volts working such as 500")
    if len(working) not in (1, len(values)):
        raise BadInput("Enter the volts working once for all, or once for each capacitor.", fields[2])
    working = working * len(values) if len(working) == 1 else working
    fed = [None, *between]
    found, node = [], 0
    for number, (farad, volt, ohm) in enumerate(zip(values, working, fed, strict=True), start=1):
        node += 0 if ohm == 0.0 else 1
        name, where = (f"C{number}", f"HT{node}") if supply is Supply.HT else (f"bias C{number}", f"bias {node}")
        found.append(Capacitor(name, where, farad, volt, ohm, supply))
    return found


def _values(text: str, unit: str, field: str, low: float, high: float, such: str) -> list[float]:
    found = []
    for one in split(text):
        try:
            value = parse(one, unit=unit)
        except ElectricsError as wrong:
            raise BadInput(f"{one}: {wrong}", field) from wrong
        if not low <= value <= high:
            raise BadInput(f"{one}: enter {such}.", field)
        found.append(value)
    return found


def as_layout(capacitors: Sequence[Capacitor]) -> Layout:
    """The same list as somebody would type it."""
    ht = [one for one in capacitors if one.supply is Supply.HT]
    bias = [one for one in capacitors if one.supply is Supply.BIAS]
    named = [one.name for one in ht] != [f"C{number}" for number in range(1, len(ht) + 1)]
    return Layout(*_typed(ht), ", ".join(one.name for one in ht) if named else "", *_typed(bias), no_bias=bool(ht) and not bias)


def _typed(capacitors: Sequence[Capacitor]) -> tuple[str, str, str]:
    volts = [_short(one.working_v) for one in capacitors]
    return (", ".join(_short(one.farad) for one in capacitors),
            ", ".join(_short(one.fed_ohm) for one in capacitors if one.fed_ohm is not None),
            volts[0] if len(set(volts)) == 1 else ", ".join(volts))


def _short(value: float) -> str:
    return say(value, "", 7).replace(" ", "").replace("µ", "u").replace("\u00a0", "")
