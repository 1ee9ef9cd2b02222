"""What a removal is made of, which of its pieces are loose, and what its record must not leave out. Pure.

Rules of the trade are common practice, no source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.errors import BadInput
from app.hardware.rules import USUAL
from app.kernel.local_forms import counted, plural


class Kind(StrEnum):
    """What came off. The words decide which checks its way back needs."""

    PART = "part"
    PANEL = "panel"
    COVER = "cover"
    CONTROL = "control"
    JACK = "jack"
    JACK_ISOLATED = "jack_isolated"
    SCREW = "screw"
    BOLT = "bolt"
    EARTH_BOLT = "earth_bolt"
    PROTECTIVE_EARTH = "protective_earth"
    MAINS_TRANSFORMER = "mains_transformer"
    MAINS_LEAD = "mains_lead"
    WIRE = "wire"
    VALVE_BASE = "valve_base"
    VALVE = "valve"
    OUTPUT_VALVE = "output_valve"
    VALVE_RECTIFIER = "valve_rectifier"
    RETAINER = "retainer"
    FUSE = "fuse"
    FUSE_HOLDER = "fuse_holder"
    INLET = "inlet"
    CHOKE = "choke"
    OUTPUT_TRANSFORMER = "output_transformer"
    TAG_BOARD = "tag_board"
    PRINTED_BOARD = "printed_board"
    SCREENING_BOX = "screening_box"
    CAN_CAPACITOR = "can_capacitor"
    LAMP = "lamp"
    STANDOFF = "standoff"
    CLAMP = "clamp"
    WOOD_SCREW = "wood_screw"
    SPEAKER = "speaker"
    REVERB_TANK = "reverb_tank"
    CHASSIS = "chassis"

    @property
    def word(self) -> str:
        """As a bench says it."""
        if self.value in _SAID_AS_WRITTEN:
            return self.value.replace("_", " ")
        return {"part": "part", "panel": "panel", "cover": "cover", "control": "pot or switch",
                "jack": "jack socket", "jack_isolated": "isolated jack socket", "screw": "screw",
                "bolt": "bolt through", "earth_bolt": "earth bolt",
                "protective_earth": "earth stud or lead", "mains_transformer": "mains transformer",
                "mains_lead": "mains wire", "wire": "wire or small part", "valve_base": "valve base",
                "valve": "small valve", "retainer": "valve retainer or screen", "inlet": "mains inlet",
                "reverb_tank": "reverb tank", "chassis": "chassis in its cabinet"}[self.value]


_SAID_AS_WRITTEN = frozenset(("output_valve", "valve_rectifier", "fuse", "fuse_holder", "choke", "output_transformer", "tag_board",
                              "printed_board", "screening_box", "can_capacitor", "lamp", "standoff", "clamp", "wood_screw",
                              "speaker"))


class Side(StrEnum):
    """From where one works on it."""

    OUTSIDE = "outside"
    INSIDE = "inside"
    TOP = "top"
    UNDER = "under"


class Fate(StrEnum):
    """What is to become of it."""

    REFIT = "refit"
    REPLACE = "replace"
    SCRAP = "scrap"
    TO_CUSTOMER = "return_to_customer"
    TO_STOCK = "return_to_stock"
    HOLD = "hold"
    NEW = "new"

    @property
    def word(self) -> str:
        return {"refit": "refit", "replace": "replace with new", "scrap": "scrap", "return_to_customer": "back to the customer",
                "return_to_stock": "into stock", "hold": "not decided", "new": "new: it never came off"}[self.value]

    @property
    def goes_back(self) -> bool:
        return self in (Fate.REFIT, Fate.REPLACE, Fate.HOLD, Fate.NEW)


class Outcome(StrEnum):
    """What became of it."""

    REFITTED = "refitted"
    REPLACED = "replaced"
    SCRAPPED = "scrapped"
    TO_CUSTOMER = "given_back"
    TO_STOCK = "to_stock"
    FITTED = "fitted"

    @property
    def word(self) -> str:
        return {"refitted": "refitted", "replaced": "replaced", "scrapped": "scrapped", "given_back": "to go back to the customer",
                "to_stock": "taken into stock", "fitted": "fitted"}[self.value]


class Went(StrEnum):
    """A column of the ledger of pieces: newly issued, or where one went."""

    ISSUED = "issued"
    REFITTED = "refitted"
    SCRAPPED = "scrapped"
    TO_CUSTOMER = "returned_to_customer"
    TO_STOCK = "returned_to_stock"

    @property
    def word(self) -> str:
        return {"issued": "new, from stock", "refitted": "fitted", "scrapped": "scrapped",
                "returned_to_customer": "back to the customer", "returned_to_stock": "back into stock"}[self.value]


class Tie(StrEnum):
    """How one removal names another."""

    UNDER = "under"
    FIXED = "fixed to"


class PieceUse(StrEnum):
    """What pieces of a removal's record are: loose beside its stack, or missing or wrong when it came off."""

    LOOSE = "loose"
    LACKED = "lacking"


class OldPart(StrEnum):
    """Where the old one goes when a new one takes its place."""

    SCRAP = "scrap"
    CUSTOMER = "customer"
    STOCK = "stock"

    @property
    def word(self) -> str:
        return {"scrap": "scrapped", "customer": "back to the customer", "stock": "into stock"}[self.value]


class Explained(StrEnum):
    """What a loose object turned out to be."""

    PLACE = "a place of this amp"
    OTHER = "not of this amp"
    OURS = "fell from this bench"

    @property
    def word(self) -> str:
        return {"a place of this amp": "a place of this amp", "not of this amp": "elsewhere, not of this amp",
                "fell from this bench": "this bench"}[self.value]


OUTCOME_OF = {Fate.REFIT: Outcome.REFITTED, Fate.REPLACE: Outcome.REPLACED, Fate.SCRAP: Outcome.SCRAPPED,
              Fate.TO_CUSTOMER: Outcome.TO_CUSTOMER, Fate.TO_STOCK: Outcome.TO_STOCK, Fate.NEW: Outcome.FITTED}
WENT_WITH = {Outcome.REFITTED: Went.REFITTED, Outcome.REPLACED: Went.REFITTED, Outcome.FITTED: Went.REFITTED,
             Outcome.SCRAPPED: Went.SCRAPPED, Outcome.TO_CUSTOMER: Went.TO_CUSTOMER, Outcome.TO_STOCK: Went.TO_STOCK}

# Pieces that are offered as chips for a stack, outer to inner as they usually lie.
STACK_PIECES = ("knob", "dress nut", "nut", "lock-nut", "flat washer", "fibre washer", "cup washer", "fascia", "chassis",
                "chassis insert", "toothed washer", "spring washer", "shoulder bush", "back-nut", "ring", "body")
FASTENERS = USUAL  # loose pieces that are offered with plus and minus
WIRE_END = "wire end"  # what older versions entered of them among the pieces weighs nothing any more
# Words in a stack that are no loose pieces: the metal it goes through, and a body that stays where it is.
METAL = ("chassis", "chassis insert", "body")
THROUGH = frozenset({*METAL, "fascia", "panel", "front panel", "rear panel", "back panel", "bezel", "cover", "board",
                     "cabinet", "box"})
# Classes of loose pieces: a removal that is merely called "screw" is not what every stack means by a screw.
PIECE_CLASSES = frozenset({*STACK_PIECES, *FASTENERS}) - THROUGH
CAPTIVE = " (captive)"
WIRE_COLOURS = ("brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white", "black", "pink", "green/yellow")
LIFTED = ("desoldered", "cut", "unplugged", "unscrewed", "untwisted")
HIDDEN = "hidden"
FIXINGS = frozenset({Kind.SCREW, Kind.BOLT, Kind.EARTH_BOLT, Kind.WOOD_SCREW})  # one may hold several bodies
CARRIES = ("mains", "HT", "heater", "bond", "signal", "speaker")  # what an end carries; a bond is one of the protective earth
_ALSO_SAID = (("AC line", "mains"), ("B+", "HT"))  # as a shop with American words types it


@dataclass(frozen=True)
class WireEnd:
    """One end lifted from a pin: of what the removal is soldered to, or of `host`. `carries` "": it follows from where it goes."""

    pin: str
    host: str = ""
    colour: str = ""
    lifted: str = "desoldered"
    hidden: bool = False  # on the side of a board that is out of sight once the board is down
    carries: str = ""

    @property
    def text(self) -> str:
        """As it is typed: 'V6:3 red HT cut'."""
        at = f"{self.host}:{self.pin}" if self.host else self.pin
        how = "" if self.lifted == LIFTED[0] else self.lifted
        return " ".join(word for word in (at, self.colour, self.carries, how, HIDDEN if self.hidden else "") if word)


def fold(text: str | None) -> str:
    """White space folded."""
    return " ".join((text or "").split())


def read_ends(text: str) -> tuple[WireEnd, ...]:
    """Wire ends, one a line: pin (or place:pin), colour, how it was lifted if not desoldered, and whether out of sight."""
    ends = []
    for line in (fold(one) for one in re.split(r"[\n,;]", text or "")):
        if not line:
            continue
        for said, word in _ALSO_SAID:
            line = re.sub(rf"(?<= ){re.escape(said)}(?= |$)", word, line, flags=re.IGNORECASE)  # noqa: PLW2901 - the same line
        at, *rest = line.split(" ")
        host, _, pin = at.rpartition(":")
        if not pin:
            raise BadInput(f"“{line}” names no pin. Enter the pin, then the colour: 3 brown.", "ends")
        hidden = HIDDEN in rest
        lifted = next((word for word in rest if word in LIFTED), LIFTED[0])
        carries = next((name for word in rest for name in CARRIES if word.lower() == name.lower()), "")
        colour = [word for word in rest if word not in (*LIFTED, HIDDEN) and word.lower() != carries.lower()]
        ends.append(WireEnd(pin, host, " ".join(colour), lifted, hidden, carries))
    return tuple(ends)


def read_counts(text: str, field: str) -> dict[str, int]:
    """'2 fibre washer, 1 spacer': how many of which."""
    found: Counter[str] = Counter()
    for one in (fold(part) for part in re.split(r"[\n,;]", text or "")):
        if not one:
            continue
        number, _, name = one.partition(" ")
        if not number.isdecimal():
            number, name = "1", one
        if not name or int(number) < 1:
            raise BadInput(f"“{one}”: enter how many and what, for example 2 fibre washer.", field)
        found[name.lower()] += int(number)
    return dict(found)


def say_counts(counts: Mapping[str, int]) -> str:
    """'2 fibre washer, 1 spacer'."""
    return ", ".join(f"{count} {name}" for name, count in counts.items() if count)


def why_not_tagged(*, bag: str, stays_on_loom: bool, loose: int) -> str:
    """What its tag lacks; empty if it can be found again."""
    if bag:
        return ""
    if not stays_on_loom:
        return "say in which bag or tray it lies, or that it stays on its loom"
    return f"say in which bag its {counted(loose, 'loose piece')} {plural(loose, 'lies', 'lie')}" if loose else ""
