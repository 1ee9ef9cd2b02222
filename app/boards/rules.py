"""Positions of a board: what a reading says about a part, and how the totals are formed. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from app.electrics import drift, judge, meter_uncertainty


class BoardKind(StrEnum):
    """How the board carries its parts."""

    TAG = "tag"
    EYELET = "eyelet"
    TURRET = "turret"
    PRINTED = "printed"


class PartKind(StrEnum):
    """What sits in a position."""

    RESISTOR = "resistor"
    CAPACITOR = "capacitor"
    ELECTROLYTIC = "electrolytic"
    DIODE = "diode"
    COIL = "coil"
    LINK = "link"
    OTHER = "other"

    @property
    def unit(self) -> str:
        """The unit of its nominal value, or none."""
        return {"resistor": "ohm", "capacitor": "F", "electrolytic": "F", "coil": "H"}.get(self.value, "")


class Fate(StrEnum):
    """What becomes of the part."""

    KEEP = "keep"
    REPLACE = "replace"


class Reason(StrEnum):
    """Why."""

    ORIGINAL = "kept original"
    ALTERED = "altered earlier"
    DRIFTED = "drifted"
    WRONG_VALUE = "wrong value for the circuit"
    POOR = "poor quality"
    UNSAFE = "unsafe"


KEEPS = frozenset({Reason.ORIGINAL, Reason.ALTERED})
REPLACES = frozenset(Reason) - {Reason.ORIGINAL}


@dataclass(frozen=True)
class PartVerdict:
    """`kind` is pass, doubt, fail or none; `drift` a signed fraction of the nominal value."""

    kind: str
    words: str
    drift: float | None = None


NOT_MEASURED = PartVerdict("none", "not measured")


def part_verdict(kind: PartKind, *, nominal: float | None, tolerance: float | None, out_of_circuit: float | None,
                 in_circuit: float | None, percent: float, counts: float = 0, resolution: float = 0.0) -> PartVerdict:
    """What the reading says, with the meter's uncertainty counted (±percent of reading, and counts of resolution).

    Out of circuit it is judged against nominal ± tolerance (a fraction). In circuit other paths lie across the part:
    they can only lower a resistance and only raise a capacitance, so a reading beyond the limit on the far side is
    certain and any other asks for a lifted leg. Common practice for parts that are passive and discharged.
    """
    reading = out_of_circuit if out_of_circuit is not None else in_circuit
    if nominal is None or nominal <= 0 or tolerance is None or reading is None:
        return NOT_MEASURED
    moved = drift(nominal, reading)
    found = judge(reading, lower=nominal * (1 - tolerance), upper=nominal * (1 + tolerance),
                  uncertainty=meter_uncertainty(reading, percent=percent, counts=counts, resolution=resolution))
    side = "high" if moved > 0 else "low"
    if out_of_circuit is not None:
        return {"pass": PartVerdict("pass", "within tolerance", moved), "fail": PartVerdict("fail", f"drifted {side}", moved)
                }.get(found.verdict, PartVerdict("doubt", "at the limit", moved))
    certain = (kind is PartKind.RESISTOR and side == "high") or (
        kind in (PartKind.CAPACITOR, PartKind.ELECTROLYTIC) and side == "low")
    if found.verdict == "fail" and certain:
        return PartVerdict("fail", f"drifted {side}, by this much at least", moved)
    return PartVerdict("doubt", "read in circuit: lift a leg to be sure", moved)


def why_not_fate(fate: Fate | None, reason: Reason | None) -> str:
    """Why a fate and its reason do not go together; empty if they do."""
    if fate is None:
        return ""
    if reason is None:
        return "Enter why."
    if fate is Fate.KEEP and reason not in KEEPS:
        return f"A part that is kept is kept original, or altered earlier; this one is {reason.value}."
    if fate is Fate.REPLACE and reason not in REPLACES:
        return "A part that is kept original is not replaced."
    return ""


@dataclass(frozen=True)
class Totals:
    """How many positions were kept original, replaced, altered by earlier hands, and are still to be decided."""

    kept: int
    replaced: int
    altered: int
    undecided: int


def totals(positions: Iterable[tuple[Fate | None, Reason | None]]) -> Totals:
    """Counts for the customer's statement of originality. A part altered earlier counts as such, kept or replaced."""
    rows = list(positions)
    return Totals(kept=sum(fate is Fate.KEEP and reason is Reason.ORIGINAL for fate, reason in rows),
                  replaced=sum(fate is Fate.REPLACE for fate, _ in rows),
                  altered=sum(reason is Reason.ALTERED for _, reason in rows),
                  undecided=sum(fate is None for fate, _ in rows))


def next_reference(reference: str) -> str:
    """R12 -> R13, C9a -> C10: where a run of entries goes on. Empty when there is nothing to count."""
    found = re.fullmatch(r"(.*?)([0-9]+)[a-z]?", reference.strip())
    return f"{found.group(1)}{int(found.group(2)) + 1:0{len(found.group(2))}d}" if found else ""
