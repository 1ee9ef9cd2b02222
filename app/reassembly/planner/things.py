"""The model of a way back: things with acts, stacks and ends; cavities that are counted; measurements.

What a record leaves open, the kind of thing brings: its usual acts, and from its stack where each of them is done.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from app.reassembly.planner.steps import BadStep, several

Role = Literal["prep", "fit", "over", "snug", "tight", "trim"]
ROLES: tuple[Role, ...] = ("prep", "fit", "over", "snug", "tight", "trim")
# How an end was lifted, as benches say it, and how it is joined again.
JOINS = {"desoldered": "soldered", "cut": "soldered", "soldered": "soldered", "unplugged": "plugged", "plugged": "plugged",
         "unscrewed": "clamped", "clamped": "clamped", "untwisted": "twisted", "unwrapped": "twisted", "twisted": "twisted"}
# What an end carries; "bond" is the protective earth.
CLASSES = ("mains", "HT", "heater", "bond", "signal", "speaker")
# Something done to something: ("T1", "tight"), ("WL1>IEC:L", "in"), ("IEC:L", "join"), ("M1", "prove"), ("K1", "count").
Event = tuple[str, str]


@dataclass(frozen=True)
class Act:
    """One act on a thing, a step of its own. `apart`: waits for none of the thing's earlier acts."""

    role: Role
    code: str = ""
    name: str = ""
    label: str = ""
    side: str | None = None
    apart: bool = False


@dataclass(frozen=True)
class End:
    """One end of a lead or part: at which pin of which thing.

    `how`: one of the values of JOINS. `hidden`: on the hidden side of a board; None where the record does not say.
    `own_class`: one of CLASSES, or "" where it follows from where the end goes.
    """

    host: str
    pin: str
    how: str = "soldered"
    hidden: bool | None = None
    colour: str = ""
    own_class: str = ""

    @property
    def at(self) -> str:
        return f"{self.host}:{self.pin}" if self.host else self.pin


@dataclass(frozen=True)
class Stack:
    """Pieces outer → inner, and how many such stacks there are. "(chassis)" is no loose piece; an id is that thing."""

    pieces: tuple[str, ...]
    times: int = 1


@dataclass(frozen=True)
class Thing:
    """One thing of the job: it came off, or it is new.

    `kind`: in the words of the trade. `acts`: roles or whole Acts in their order; None means the usual ones of its
    kind; a lead has none, only ends. `under`: ids of what lay over it. `on`: id of what it is fixed to or sits in; `also_on`:
    what else a shared fixing holds. `cavity`: the space it lies in, `closes`: the one that it closes ("" not said).
    `align`: what it is aligned with others on, where its stack does not say. `fate`: as for a Removal, or "new".
    """

    id: str
    name: str = ""
    kind: str = "part"
    acts: tuple[Role | Act, ...] | None = None
    seq: int = 0
    side: str | None = None
    place: str | None = None
    unit: str | None = None
    under: tuple[str, ...] = ()
    on: str | None = None
    stacks: tuple[Stack, ...] = ()
    ends: tuple[End, ...] = ()
    fate: str = "refit"
    align: str | None = None
    also_on: tuple[str, ...] = ()
    cavity: str = ""
    closes: str = ""
    minutes: float = 0.0
    unattended_minutes: float = 0.0

    def __post_init__(self) -> None:
        if not self.id:
            raise BadStep(self.id, "id", self.id, "a word")
        object.__setattr__(self, "under", several(self.id, "under", self.under))
        for end in self.ends:
            if end.how not in JOINS.values():
                raise BadStep(self.id, "ends", end.how, "one of " + ", ".join(dict.fromkeys(JOINS.values())))
        for act in self.acts or ():
            role = act.role if isinstance(act, Act) else act
            if role not in ROLES:
                raise BadStep(self.id, "acts", role, "one of " + ", ".join(ROLES))

    @property
    def goes_back(self) -> bool:
        """Whether something is fitted in its place: the same piece or a new one. A held one still may be."""
        return self.fate in ("refit", "replace", "hold", "new")

    @property
    def title(self) -> str:
        """Its name with its id, once."""
        return self.name if self.id.lower() in self.name.lower().replace(",", " ").split() else f"{self.name} {self.id}".strip()

    @property
    def at_once(self) -> bool:
        """Whether it goes in together with its ends, as in today's removal records, whose acts are whole Acts."""
        return bool(self.acts) and all(isinstance(act, Act) for act in self.acts or ())

    @property
    def pieces(self) -> Iterable[str]:
        """Every word of every stack."""
        return (piece for stack in self.stacks for piece in stack.pieces)


@dataclass(frozen=True)
class Proof:
    """A measurement or a look. `after`: what it proves; `before`: what would hide or falsify it; both may be empty.

    `kind`: see `proofs.classify`; "" lets the words tell. `limit`: "min", "max", "band", "none" with `value` in `unit`.
    """

    id: str
    what: str
    condition: str = ""
    quantity: str = ""
    unit: str = ""
    limit: str = "none"
    value: object = None
    after: tuple[Event, ...] = ()
    before: tuple[Event, ...] = ()
    kind: str = ""


@dataclass(frozen=True)
class Cavity:
    """A space that is counted before it closes. `covers`: ids of what lies in it; `closes`: the events that close it."""

    id: str
    words: str
    covers: tuple[str, ...] = ()
    closes: tuple[Event, ...] = ()
    step: str = ""  # the id of its count; "" is the cavity's own


@dataclass(frozen=True)
class Job:
    """Everything that a way back is planned from. Without proofs of its own it gets the usual ones, and the usual counts."""

    things: tuple[Thing, ...]
    proofs: tuple[Proof, ...] = ()
    cavities: tuple[Cavity, ...] = ()
    earthed: bool = True
    notes: tuple[str, ...] = field(default=(), compare=False)
