"""What a story of the demo is made of. Pure data: `play` turns it into records."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from app.boards.rules import Fate as Becomes
from app.boards.rules import PartKind as PartOnBoard
from app.boards.rules import Reason
from app.discharge.rules.listing import Layout
from app.findings.rules.life import Area, Disposition, Origin
from app.findings.rules.waste import Material
from app.intake.rules import Danger, Zone
from app.orders.stages import Stage
from app.parts.rules import PartKind
from app.quote.rules.words import LineGroup
from app.removals.rules import Fate, Kind, OldPart, Side, WireEnd
from app.removals.stacks import Stack


@dataclass(frozen=True)
class Who:
    """A customer."""

    name: str
    phone: str
    email: str = ""
    address: str = ""


@dataclass(frozen=True)
class What:
    """An amp as it is marked."""

    maker: str
    model: str
    serial: str
    mains: str = "230 V 50 Hz"
    klass: str = "I"
    valves: str = ""
    covering: str = "black cloth"


@dataclass(frozen=True)
class Picture:
    """A drawing of demo_data.pictures: which, of which seed, with what is wrong with it."""

    name: str
    place: str
    caption: str = ""
    seed: int = 1
    flags: dict[str, Any] = field(default_factory=dict)
    phase: str = "as_found"


@dataclass(frozen=True)
class PartWanted:
    """A part that a line calls for. Money in minor units, before tax."""

    what: str
    kind: PartKind
    place: str
    minor: int
    quantity: int = 1
    volts: float | None = None
    watts: float | None = None


@dataclass(frozen=True)
class Found:
    """A finding, the line that quotes it, and how it was proved."""

    area: Area
    observation: str
    cause: str
    severity: int
    probability: str | None
    equipment: int
    function: int
    disposition: Disposition
    check: str
    proof: str
    hours: tuple[float, float, float]
    group: LineGroup
    work: str
    hazard: str = ""
    origin: Origin = Origin.WEAR
    place: str = ""
    picture: int | None = None  # index into the story's inside pictures
    pin: str = ""  # place of that picture on which the pin goes
    parts: tuple[PartWanted, ...] = ()
    declined: bool = False


@dataclass(frozen=True)
class Off:
    """Something that came off."""

    mark: str
    name: str
    kind: Kind = Kind.PART
    place: str = "chassis"
    side: Side = Side.OUTSIDE
    unit: str = ""
    under: tuple[str, ...] = ()
    stack: tuple[str, ...] = ()
    fasteners: dict[str, int] = field(default_factory=dict)
    bag: str = ""
    on_loom: bool = False
    fate: Fate = Fate.REFIT
    reason: str = ""
    old_part: OldPart | None = None  # where the old one goes, of what is replaced
    cavity: str = ""
    closes: str = ""
    times: int = 1  # such stacks
    others: tuple[Stack, ...] = ()
    fixed_to: str = ""
    ends: tuple[WireEnd, ...] = ()


@dataclass(frozen=True)
class Position:
    """A position of a board's sheet. Nominal and reading in the SI unit of its kind, tolerance a fraction."""

    reference: str
    kind: PartOnBoard
    nominal: float
    tolerance: float
    read: float
    fate: Becomes
    reason: Reason
    new_part: str = ""


@dataclass(frozen=True)
class Loose:
    """A thing that turned up inside and is not of this amp."""

    piece: str
    place: str
    why: str


@dataclass(frozen=True)
class Rubbish:
    """Something for the waste log."""

    material: Material
    quantity: float
    unit: str
    container: str
    presumed: bool = False
    note: str = ""


@dataclass(frozen=True)
class Story:
    """One repair order: who, what, why, and how far it has come."""

    days_ago: int
    who: Who
    what: What
    complaint: str
    until: Stage | str  # a stage it waits in, or how it ended: 'repaired', 'unrepaired', 'uncollected'
    connected: str = ""
    keep: str = ""
    accessories: dict[str, int] = field(default_factory=dict)
    dangers: tuple[Danger, ...] = ()
    notes: tuple[tuple[Zone, str], ...] = ()
    outside: tuple[Picture, ...] = ()
    inside: tuple[Picture, ...] = ()
    left: tuple[Picture, ...] = ()
    found: tuple[Found, ...] = ()
    off: tuple[Off, ...] = ()
    new: tuple[Off, ...] = ()  # what never came off and is fitted
    board: tuple[Position, ...] = ()
    loose: tuple[Loose, ...] = ()
    waste: tuple[Rubbish, ...] = ()
    shelf: str = ""
    promised_in: int | None = None  # days from today
    stop: str = ""  # how far into the stage it waits in: see play
    comes_back: str = ""  # for one that ended: what is said when it is in again
    wet: bool = False
    circuit: bool = False  # its sheet is entered and its nodes read before the strip-down
    supply: Layout = Layout("50u, 50u, 32u", "220, 10k", "500", bias_farads="50u", bias_volts="100")
    volts_left: tuple[tuple[float, ...], ...] = ((1.2, 1.4, 2.4, 0.3),)  # each round, by capacitor, the bias supply's last
