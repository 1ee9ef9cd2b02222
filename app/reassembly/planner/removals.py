"""A removal as the ledger holds it, and what its record must not leave out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from app.reassembly.planner.ledger import Ledger, Row
from app.reassembly.planner.steps import BadStep, several
from app.reassembly.planner.things import Stack

# What a removal can be; the words decide which checks its way back needs.
KINDS = (
    "part",
    "panel",  # a fascia that controls and jacks go through
    "cover",  # closes a cavity: nothing goes in after it
    "control",
    "jack",
    "jack_isolated",
    "screw",  # fixes `on` from one side
    "bolt",  # goes through `on`, with a stack of its own on the far side
    "earth_bolt",  # a bolt of `on` that also carries the protective earth
    "protective_earth",  # an earth fixing of its own: a stud, or the lead itself
    "mains_transformer",
    "mains_lead",
    "wire",
    "valve_base",
    "valve",
    "output_valve",
    "valve_rectifier",
    "retainer",
    "fuse",
    "fuse_holder",
    "inlet",
    "choke",
    "output_transformer",
    "tag_board",
    "printed_board",
    "screening_box",
    "can_capacitor",
    "lamp",
    "standoff",
    "clamp",
    "wood_screw",
    "speaker",
    "reverb_tank",
    "chassis",
)
FATES = ("refit", "replace", "scrap", "return_to_customer", "return_to_stock", "hold", "new")
FIXINGS = ("screw", "bolt", "earth_bolt", "wood_screw")  # what holds other things, several at once if need be
PANEL_MOUNTED = ("control", "jack", "jack_isolated")
# Words in a stack that are no loose pieces: the metal it goes through, and a body that stays on its loom.
FIXED = ("chassis", "chassis insert", "body")
CAPTIVE = " (captive)"


@dataclass(frozen=True)
class Removal:
    """One thing that came off.

    `seq`: its number in the order of coming off. `side`, `place`, `unit`: as for a Step. `under`: ids of what
    it lay under, which was off before it and goes back after it. `on`: id of what it is fixed or soldered to.
    `stack`: pieces outer → inner; a piece that is the id of another removal is that removal; "chassis" is the
    metal, "body" a body that stays on its loom, and a piece marked " (captive)" hangs on its lead.
    `fasteners`: other loose pieces by class. `ends`: pins of `on` at which it is soldered ("3"), or of
    another removal ("V6:3"). `keyed`: has a keyway, polarity or tab, so that `orientation` must be recorded.
    `minutes` of attended work to put it back, `unattended_minutes` of drying or curing after it. `lifted`: how each of
    `ends` came off, in words of `things.JOINS`; `hidden`: whether each lies on the hidden side of a board. Empty: soldered, seen.
    `classes`: what each end carries, in words of `things.CLASSES`, "" where that follows from where it goes. `times`: how many
    stacks like `stack` there are; `others`: stacks unlike it (an earth corner). `also_on`: what else a shared fixing holds
    beside `on`. `cavity`: the space it lies in, "" not said; `closes`: the cavity that it closes. Fate "new": it never came off.
    """

    id: str
    label: str = ""
    kind: str = "part"
    seq: int = 0
    side: str | None = None
    place: str | None = None
    unit: str | None = None
    under: tuple[str, ...] = ()
    on: str | None = None
    stack: tuple[str, ...] = ()
    fasteners: Mapping[str, int] = field(default_factory=dict)
    ends: tuple[str, ...] = ()
    fate: str = "refit"
    keyed: bool = False
    orientation: str = ""
    stays_on_loom: bool = False
    bag: str = ""
    minutes: float = 0.0
    unattended_minutes: float = 0.0
    lifted: tuple[str, ...] = ()
    hidden: tuple[bool, ...] = ()
    classes: tuple[str, ...] = ()
    times: int = 1
    others: tuple[Stack, ...] = ()
    also_on: tuple[str, ...] = ()
    cavity: str = ""
    closes: str = ""

    def __post_init__(self) -> None:
        for name, allowed in (("kind", KINDS), ("fate", FATES)):
            if getattr(self, name) not in allowed:
                raise BadStep(self.id, name, getattr(self, name), "one of " + ", ".join(allowed))
        for name in ("under", "stack", "ends"):
            object.__setattr__(self, name, several(self.id, name, getattr(self, name)))

    @property
    def goes_back(self) -> bool:
        """Whether something is fitted in its place: the same piece or a new one. A held one still may be."""
        return self.fate in ("refit", "replace", "hold", "new")

    @property
    def stacks(self) -> tuple[Stack, ...]:
        """Every stack, the first one first."""
        return ((Stack(self.stack, self.times),) if self.stack else ()) + self.others

    @property
    def joints(self) -> tuple[tuple[str, str], ...]:
        """(id of what it is soldered to, pin) for each end."""
        split = (end.rpartition(":") for end in self.ends)
        return tuple((host or self.on or "", pin) for host, _, pin in split)


@dataclass(frozen=True)
class Gap:
    """A removal whose record leaves out what the way back needs."""

    removal: str
    reason: str


def gaps(removals: Iterable[Removal]) -> tuple[Gap, ...]:
    """What the records leave out: an orientation not recorded, a bag for what stays on its loom, no fate."""
    found = []
    for each in removals:
        if each.keyed and not each.orientation.strip():
            found.append(Gap(each.id, "keyway, polarity or tab not recorded"))
        if each.stays_on_loom and each.bag:
            found.append(Gap(each.id, "stays on its loom, so it cannot be in a bag"))
        if each.fate == "hold":
            found.append(Gap(each.id, "on hold: its fate is not decided"))
    return tuple(found)


def stack_faults(found: Iterable[str], refitted: Iterable[str]) -> tuple[str, ...]:
    """What a refitted stack lacks or has too much of, or that its order changed; empty if as found."""
    before, now = tuple(found), tuple(refitted)
    want, have = Counter(before), Counter(now)
    faults = [f"without {piece}" for piece in dict.fromkeys(before) if have[piece] < want[piece]]
    faults += [f"{piece} too many" for piece in dict.fromkeys(now) if have[piece] > want[piece]]
    if not faults and before != now:
        faults.append("pieces in another order")
    return tuple(faults)


def removed_pieces(removals: Iterable[Removal]) -> Ledger:
    """The `removed` column of the ledger: loose pieces of every stack, other fasteners, and wire ends."""
    listed = tuple(removals)
    things = {each.id for each in listed}
    count: Counter[str] = Counter()
    for each in listed:
        for stack in each.stacks if each.fate != "new" else ():
            for piece in stack.pieces:
                if piece not in FIXED and piece not in things and not piece.endswith(CAPTIVE):
                    count[piece] += stack.times
        if each.fate == "new":
            continue  # it never came off: its pieces are issued
        count.update(each.fasteners)
        if each.ends:
            count["wire end"] += len(each.ends)
    return Ledger({name: Row(removed=number) for name, number in count.items()})
