"""Tags: what the bench usually writes on each kind, and the next one free. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable

from app.removals.rules import Kind


def next_mark(mark: str, taken: Iterable[str]) -> str:
    """The next free mark after one: P2 after P1."""
    used = {one.lower() for one in taken}
    stem, digits = re.fullmatch(r"(.*?)(\d*)", mark.strip(), re.DOTALL).groups()  # type: ignore[union-attr]
    number = int(digits or 1) + 1
    while f"{stem}{number}".lower() in used:
        number += 1
    return f"{stem}{number}"


# What the bench usually writes on the tag of each kind, before a number; common practice, no source.
STEMS = {Kind.PART: "R", Kind.PANEL: "F", Kind.COVER: "C", Kind.CONTROL: "P", Kind.JACK: "J", Kind.JACK_ISOLATED: "J",
         Kind.SCREW: "E", Kind.BOLT: "B", Kind.EARTH_BOLT: "B", Kind.PROTECTIVE_EARTH: "PE", Kind.MAINS_TRANSFORMER: "T",
         Kind.MAINS_LEAD: "W", Kind.WIRE: "W", Kind.VALVE_BASE: "XV", Kind.VALVE: "V", Kind.OUTPUT_VALVE: "V",
         Kind.VALVE_RECTIFIER: "V", Kind.RETAINER: "RT", Kind.FUSE: "FU", Kind.FUSE_HOLDER: "FH", Kind.INLET: "IN", Kind.CHOKE: "L",
         Kind.OUTPUT_TRANSFORMER: "T", Kind.TAG_BOARD: "TB", Kind.PRINTED_BOARD: "PB", Kind.SCREENING_BOX: "BX",
         Kind.CAN_CAPACITOR: "C", Kind.LAMP: "LP", Kind.STANDOFF: "ST", Kind.CLAMP: "CL", Kind.WOOD_SCREW: "E", Kind.SPEAKER: "LS",
         Kind.REVERB_TANK: "RV", Kind.CHASSIS: "CH"}


def usual_mark(kind: Kind, number: int, taken: Iterable[str]) -> str:
    """The tag to propose for the next of a kind: its letter with the next free number; a plain part goes by its own number."""
    return next_mark(f"{STEMS[kind]}{number - 1 if kind is Kind.PART else 0}", taken)
