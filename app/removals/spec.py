"""What is asked about a removal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from app.kernel.spec import ASKED, Choice, Fed, Files, Flag, Number, Parsed, Several, Text, asked, values, words
from app.photos.spec import Pinned
from app.removals.rules import Fate, Kind, OldPart, Side, WireEnd, read_counts, read_ends, say_counts
from app.removals.stacks import MOST_STACKS, Stack, read_stack, read_stacks

MINUTES = "Enter minutes, zero or more."
STACKS = f"Enter how many such stacks it has, 1 to {MOST_STACKS}."


def _more_than_one(value: Any) -> Any:
    return value if value != 1 else ""


def _or_nothing(value: Any) -> Any:
    return value or ""


@dataclass(frozen=True)
class RemovalFacts:
    """What is said about a removal. Pieces outer to inner; minutes of work to put it back, then of drying by itself."""

    name: str = asked(Text("What came off", longest=120, journal="what"))
    kind: Kind = asked(Choice("Kind", None, words=words(Kind), start=Kind.PART), Kind.PART)
    unit: str = asked(Choice("Sub-assembly", later=True, any_text=True, journal="sub-assembly"), "")
    place: str = asked(Choice("Place", later=True, any_text=True), "")
    cavity: str = asked(Choice("Cavity", later=True, any_text=True), "")
    closes: str = asked(Choice("It closes the cavity", later=True, any_text=True, journal="closes"), "")
    side: Side | None = asked(Choice("Side", words=values(Side)), None)
    fixed_to: str = asked(Text("Fixed or soldered to", longest=60), "")
    under: tuple[str, ...] = asked(Several("Had to come off first", None, later=True, journal="was under", said=", ".join), ())
    stack: tuple[str, ...] = asked(Parsed("Stack, outer to inner", read=read_stack, show="\n".join, longest=1000, lines=True,
                                          said=" / ".join), ())
    stack_times: int = asked(Number("How many such stacks", low=1, high=MOST_STACKS, wrong=STACKS, whole=True,
                                    journal="such stacks", said=_more_than_one), 1)
    other_stacks: tuple[Stack, ...] = asked(Parsed(
        "Stacks unlike it", read=read_stacks, show=lambda stacks: "\n".join(one.text for one in stacks), longest=1000, lines=True,
        journal="other stacks", said=lambda stacks: "; ".join(one.text for one in stacks)), ())
    fasteners: Mapping[str, int] = field(default_factory=dict, metadata={ASKED: Fed("", journal="small parts", said=say_counts)})
    thread: str = asked(Text("Thread and length", longest=80), "")  # of before pieces were counted by their size
    lacked: Mapping[str, int] = field(default_factory=dict, metadata={ASKED: Parsed(
        "Missing or wrong when it came off", read=lambda text: read_counts(text, "lacked"), show=say_counts, longest=300,
        journal="missing when it came off", said=say_counts)})
    ends: tuple[WireEnd, ...] = asked(Parsed(
        "Wire ends lifted", read=read_ends, show=lambda ends: "\n".join(end.text for end in ends), longest=1000, lines=True,
        journal="wire ends", said=lambda ends: ", ".join(end.text for end in ends)), ())
    keyed: bool = asked(Flag("It has a keyway, a tab or a polarity", journal=None), False)  # what it faces is told
    orientation: str = asked(Text("Orientation", longest=200, journal="faces"), "")
    stays_on_loom: bool = asked(Flag("The part itself stays on its loom", journal="stays on its loom"), False)
    bag: str = asked(Text("Bag or tray", longest=60), "")
    fate: Fate = asked(Choice("Disposition", None, words=words(Fate), start=Fate.REFIT), Fate.REFIT)
    fate_reason: str = asked(Text("Why", longest=300, journal="why"), "")
    old_part: OldPart | None = asked(Choice("The old one goes", words=words(OldPart), journal="old one"), None)
    minutes: float = asked(Number("Minutes to put it back", low=0, high=6000, wrong=MINUTES, said=_or_nothing), 0.0)
    unattended_minutes: float = asked(Number("Minutes it then dries or cures", low=0, high=60000, wrong=MINUTES,
                                             journal="minutes unattended", said=_or_nothing), 0.0)
    note: str = asked(Text("Note", longest=400), "")
    photo_id: int | None = asked(Fed("", journal="photo", said=_or_nothing), None)


@dataclass(frozen=True)
class Tagged:
    """What its tag says."""

    mark: str = asked(Text("Tag", "Enter what its tag says, for example P1.", longest=20))


@dataclass(frozen=True)
class Shown(Pinned):
    """The photos that show it."""

    photos: tuple[Any, ...] = asked(Files("Photos", None), ())
