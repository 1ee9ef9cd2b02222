"""Find a valve by any of its names, and what its base invites."""

from __future__ import annotations

import re
from dataclasses import replace
from difflib import get_close_matches
from itertools import chain

from app.electrics.errors import ElectricsError
from app.electrics.valves.beams import BEAMS
from app.electrics.valves.kinds import Valve
from app.electrics.valves.more_outputs import MORE_OUTPUTS
from app.electrics.valves.more_small import MORE_SMALL
from app.electrics.valves.pentodes import PENTODES
from app.electrics.valves.preamp import PREAMP
from app.electrics.valves.rectifiers import RECTIFIERS

_SUFFIX = 4
_BASE_PINS = {"octal": 8, "noval": 9, "miniature 7-pin": 7}
# Marked like a type with a suffix, and yet not it: whose figures are taken instead, and the word that goes with them.
_TAKEN_AS = {
    "6L6WGB": ("5881", "sheets disagree about a 6L6WGB: one calls it a 5881, one a ruggedised 6L6GB (19 W), one a 6L6GC (30 W);"
                       " the 5881's figures are taken here"),
    "6L6WGA": ("6L6", "a 6L6WGA is the ruggedised 6L6GA: its 19 W are taken, not a 6L6GC's 30 W"),
    "E34L": ("EL34", "an E34L is a maker's variant of the EL34 that idles otherwise at the same grid volts; the figures are"
                     " those of the EL34"),
}  # fmt: skip


def _plain(name: str) -> str:
    """Upper case without spaces, hyphens, dots and underscores: "ecc 83" and "ECC-83" are ECC83."""
    return re.sub(r"[\s\-._]+", "", name).upper()


_ALL: tuple[Valve, ...] = (*PREAMP, *MORE_SMALL, *BEAMS, *PENTODES, *MORE_OUTPUTS, *RECTIFIERS)
_BY_NAME: dict[str, Valve] = {_plain(name): entry for entry in _ALL for name in (entry.name, *entry.also)}


def valve_names() -> tuple[str, ...]:
    """The names of the entries that every sum can be done with, without their second names, in the order of the table.

    Left out are those of which something is not known here: curves, the anode's limit, a rectifier's drop; and pentodes for
    small signals, which the sums of output stages do not fit. `all_names` has them too, and `valve` finds them.
    """
    return tuple(entry.name for entry in _ALL if _whole(entry))


def all_names() -> tuple[str, ...]:
    """The names of all entries, those with limits only among them."""
    return tuple(entry.name for entry in _ALL)


def _whole(entry: Valve) -> bool:
    """Whether curves and the anode's limit, or a rectifier's drop, are known."""
    if entry.rectifier is not None:
        return entry.rectifier.perveance is not None
    return not entry.small and entry.model is not None and entry.ratings is not None and entry.ratings.anode_w is not None


def valve(name: str) -> Valve:
    """The valve of that name: type number or common second name, in any case, spaces and hyphens ignored.

    "12AX7 / ECC83" finds the one valve both names mean, "6V6GT/G" the 6V6GT. Up to four letters that a maker put
    behind a type, as in 5881WXT, give the type's entry with a remark that says so. ElectricsError for an unknown
    name lists near ones, and for a double name whose halves are different valves.
    """
    return find("name", name)


def find(argument: str, name: object) -> Valve:
    """As `valve`, for a sum that has the name in an argument of its own, which an error then names."""
    if not isinstance(name, str):
        raise ElectricsError(argument, name, "the name of a valve")
    parts = [plain for part in name.split("/") if (plain := _plain(part)) not in ("", "G", "GT")]
    if len(parts) == 1 and parts[0] in _TAKEN_AS:
        other, word = _TAKEN_AS[parts[0]]
        return _with_word(_BY_NAME[other], word)
    known = {part: entry for part in parts if (entry := _BY_NAME.get(part) or _without_suffix(part)) is not None}
    found = {entry.name: entry for entry in known.values()}
    if len(found) == 1 and len(known) == len(set(parts)):
        entry = next(iter(found.values()))
        if all(part in _BY_NAME for part in parts):
            return entry
        return _with_word(entry, f"{name.strip()} is taken as a {entry.name}, whose figures these are: the letters after it are "
                                 "not in the table")
    if len(found) > 1:
        raise ElectricsError(argument, name, "one valve; these are " + " and ".join(found))
    raise ElectricsError(argument, name, _suggestion(_plain(name)))


def _with_word(entry: Valve, word: str) -> Valve:
    """The entry with a word in front of its remark."""
    return replace(entry, remark=f"{word}. {entry.remark}" if entry.remark else word)


def _without_suffix(plain: str) -> Valve | None:
    """The type that a maker's letters were put behind: 5881WXT is a 5881, 12AX7WB a 12AX7.

    The longest name in the table that is left when up to four letters are taken off its end, one after another.
    """
    for count in range(1, _SUFFIX + 1):
        if not plain[-count:].isalpha():
            return None
        if (entry := _BY_NAME.get(plain[:-count])) is not None:
            return entry
    return None


def _suggestion(plain: str) -> str:
    near = get_close_matches(plain, _BY_NAME, n=4, cutoff=0.55)
    near = list(dict.fromkeys(chain(near,
                                    (known for known in _BY_NAME if plain and known.startswith(plain)))))[:6]
    if near:
        return "a valve in the table; near names are " + ", ".join(near)
    return "a valve in the table: " + ", ".join(all_names())


def arc_risk_pins(valve: str | Valve) -> tuple[tuple[int, int], ...]:
    """Pairs (anode pin, heater pin) that are neighbours on the base, where a flyback without load arcs across
    first.

    (3, 2) on the common octal output base: look there for carbon tracks in the socket. Empty when no heater
    pin stands beside an anode pin. The gap in a noval base parts 9 from 1; an octal base closes on itself.
    Common practice, no source. ElectricsError for an unknown valve.
    """
    entry = valve if isinstance(valve, Valve) else find("valve", valve)
    count = _BASE_PINS.get(entry.base, 0)
    anodes = [pin for use, pins in entry.pins.items() if use.startswith("anode") for pin in pins]
    heaters = [pin for use, pins in entry.pins.items() if use.startswith("heater") for pin in pins]

    def beside(one: int, other: int) -> bool:
        return abs(one - other) == 1 or (entry.base == "octal" and abs(one - other) == count - 1)

    return tuple((anode, heater) for anode in anodes for heater in heaters if beside(anode, heater))
