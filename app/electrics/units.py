"""The units read and shown at the bench, and the multipliers each one goes with."""

from __future__ import annotations

from dataclasses import dataclass

# Read in either case except m (milli) and M (mega), which differ by nine orders of magnitude.
PREFIXES: dict[str, int] = {
    "p": -12, "P": -12, "n": -9, "N": -9, "u": -6, "U": -6, "\u00b5": -6,
    "m": -3, "k": 3, "K": 3, "M": 6, "G": 9, "T": 12,
}  # fmt: skip
SHOWN: dict[int, str] = {-12: "p", -9: "n", -6: "\u00b5", -3: "m", 0: "", 3: "k", 6: "M", 9: "G", 12: "T"}


@dataclass(frozen=True)
class Unit:
    """A unit: its symbol, the names it is read by (lower case), and powers of ten read and shown with it."""

    symbol: str
    names: tuple[str, ...]
    read: tuple[int, ...]
    shown: tuple[int, ...]


_SMALL = (-12, -9, -6, -3)
_LARGE = (3, 6, 9, 12)


def _unit(symbol: str, names: str, read: tuple[int, ...], shown: tuple[int, ...] | None = None) -> Unit:
    usual = tuple(sorted({0, *read}))
    return Unit(symbol, (symbol.lower(), *names.split()), read, usual if shown is None else shown)


# Kilo and mega of farads, amperes and seconds, nano and micro of ohms are slips of the hand at this bench.
UNITS: tuple[Unit, ...] = (
    _unit("\u03a9", "ohm ohms r", (-3, *_LARGE)),
    _unit("V", "volt volts", _SMALL + _LARGE),
    _unit("A", "amp amps ampere amperes", (*_SMALL, 3)),
    _unit("F", "farad farads", _SMALL, (-12, -9, -6, 0)),
    _unit("H", "henry henries", (*_SMALL, 3)),
    _unit("W", "watt watts", _SMALL + _LARGE),
    _unit("VA", "", (-3, 3, 6)),
    _unit("s", "sec second seconds", _SMALL),
    _unit("Hz", "hertz", (-6, -3, *_LARGE)),
    _unit("J", "joule joules", _SMALL + _LARGE),
    _unit("\u00b0C", "celsius", ()),
)
_BY_NAME: dict[str, Unit] = {name: unit for unit in UNITS for name in unit.names}


def unit_named(name: str) -> Unit | None:
    """The unit of that symbol or name, in any case; None when there is none."""
    return _BY_NAME.get(name.lower())
