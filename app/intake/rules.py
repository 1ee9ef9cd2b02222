"""What the counter must have before an amp goes to the bench. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

NONE_FOUND = "none found"
NO_ISOLATION = "MNS-08"  # in the catalogue of findings: what the question about the mains pins leads to
MAINS_JOINED = "a mains pin joins chassis or signal earth: no isolating transformer"


class Zone(StrEnum):
    """Where on the amp a note or a photo of its condition belongs."""

    FRONT = "front"
    TOP = "top"
    LEFT = "left side"
    RIGHT = "right side"
    REAR = "rear"
    COVERING = "covering"
    GRILLE = "grille"
    HANDLE = "handle"
    FEET = "feet"
    PANEL = "panel"
    KNOBS = "knobs"
    VALVES = "valves"
    SPEAKER = "speaker"
    STRAPS = "chassis straps"
    SERIAL = "serial and mains marking"


def zone_named(word: str) -> Zone:
    """The zone with this word; the front where there is none."""
    return Zone(word) if word in set(Zone) else Zone.FRONT


def zone_after(zone: Zone) -> Zone:
    """The next zone on the way round the amp."""
    all_round = list(Zone)
    return all_round[(all_round.index(zone) + 1) % len(all_round)]


class Danger(StrEnum):
    """What a look from outside may show before anything is switched on. (Common practice, no source.)"""

    LEAD = "mains lead cut, perished or home-made"
    NO_EARTH = "no earth pin, or the earth is cut"
    PLUG = "plug or inlet cracked or loose"
    BURNT = "burnt smell or scorching"
    LIQUID = "liquid or damp inside"
    LOOSE = "loose parts heard inside"
    BARE = "bare live parts in reach"
    FUSE = "fuse bridged or of the wrong value"
    CLASS = "marking does not fit the supply here"
    VALVE = "broken valve or glass"


ACCESSORIES = ("footswitch", "cover", "mains lead", "speaker lead", "valves in boxes")


@dataclass(frozen=True)
class Facts:
    """What is known of an amp at the counter, as far as the gate asks."""

    reachable: bool
    maker: str
    model: str
    serial: str
    mains_marking: str
    class_known: bool
    complaint: str
    condition_photos: int
    counted: bool
    looked: bool
    signed: bool
    signed_fee_minor: int = 0
    fee_minor: int = 0


@dataclass(frozen=True)
class Lack:
    """One thing that is still to be done, and on which sheet."""

    text: str
    part: str


def missing_items(facts: Facts) -> tuple[Lack, ...]:
    """Everything that the amp still lacks before it leaves intake, in the order in which a counter does it."""
    found: list[Lack] = []
    if not facts.reachable:
        found.append(Lack("Enter a phone, e-mail or address of the customer.", "people"))
    if not facts.complaint.strip():
        found.append(Lack("Enter the complaint in the customer’s own words.", "complaint"))
    if unmarked := _unmarked(facts):
        found.append(Lack(f"Identify the amp: {_list(unmarked)}.", "amp"))
    if facts.condition_photos < 1:
        found.append(Lack("Photograph the amp as it came in.", "condition"))
    if not facts.counted:
        found.append(Lack("Count the accessories.", "accessories"))
    if not facts.looked:
        found.append(Lack("Look for obvious danger.", "look"))
    if not facts.signed:
        found.append(Lack("Have the terms signed.", "terms"))
    elif facts.fee_minor > facts.signed_fee_minor:
        found.append(Lack("Have the terms signed again: the diagnosis fee was raised after the signature.", "terms"))
    return tuple(found)


def _unmarked(facts: Facts) -> list[str]:
    wanted = (("maker", facts.maker), ("model", facts.model), ("serial, or none found", facts.serial),
              ("mains marking", facts.mains_marking))
    missing = [word for word, value in wanted if not value.strip()]
    return missing if facts.class_known else [*missing, "class I or II"]


def _list(words: Iterable[str]) -> str:
    *first, last = words
    return f"{'; '.join(first)} and {last}" if first else last


@dataclass(frozen=True)
class Looked:
    """The outcome of a look for danger: what was seen, and whether the amp was switched on at the counter."""

    dangers: tuple[Danger, ...] = ()
    other: str = ""
    mains_joined: bool | None = None  # whether a mains pin joins chassis or signal earth, by ohmmeter; None: not measured
    energised: bool = False
    energised_why: str = ""

    @property
    def quarantine_reason(self) -> str:
        """Why the amp must not be energised; empty if nothing was seen."""
        seen = [*([MAINS_JOINED] if self.mains_joined else []), *(one.value for one in self.dangers),
                *([self.other.strip()] if self.other.strip() else [])]
        return "; ".join(seen)


FEWEST_POINTS = 6
MOST_POINTS = 6000
_POINT = r"\d{1,3}(?:\.\d)? \d{1,3}(?:\.\d)?"
_PATH = re.compile(rf"(?:M{_POINT}(?:L{_POINT})*)+")


def is_signature(path: str) -> bool:
    """Whether this is a pen's path as the pad draws it, longer than a tap, within the pad's 640 × 200 field."""
    if len(path) > MOST_POINTS * 14 or not _PATH.fullmatch(path):
        return False
    numbers = [float(one) for one in re.findall(r"[\d.]+", path)]
    across, down = numbers[::2], numbers[1::2]
    return (FEWEST_POINTS <= len(across) <= MOST_POINTS and max(across) <= 640 and max(down) <= 200
            and (max(across) - min(across)) + (max(down) - min(down)) > 20)
