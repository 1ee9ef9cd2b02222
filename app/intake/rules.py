"""What the counter must have before an amp goes to the bench. Pure."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
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


# The views that are usually taken, in the order in which one walks round the amp. Common practice, no source.
USUAL_VIEWS = (Zone.FRONT, Zone.TOP, Zone.LEFT, Zone.RIGHT, Zone.REAR, Zone.PANEL, Zone.SERIAL)
LEAST_VIEWS = 6  # beside the serial plate, unless the shop asks for another number. Common practice, no source.


def views_asked(least: int) -> tuple[Zone, ...]:
    """The zones that are offered first: as many views as the shop asks for, then the serial plate."""
    round_it = [zone for zone in (*USUAL_VIEWS, *Zone) if zone is not Zone.SERIAL]
    return (*tuple(dict.fromkeys(round_it))[:least], Zone.SERIAL)


def open_zones(shown: Collection[Zone], least: int) -> tuple[Zone, ...]:
    """The zones still to photograph: none of the views once any `least` of them are there, and the serial plate for itself."""
    views = [zone for zone in shown if zone is not Zone.SERIAL]
    wanted = [zone for zone in views_asked(least) if zone not in shown]
    return tuple(zone for zone in wanted if zone is Zone.SERIAL or len(views) < least)


def zone_after(zone: Zone, shown: Collection[Zone] = (), least: int = LEAST_VIEWS) -> Zone:
    """The next zone that is still to photograph; where none is, the next on the way round the amp."""
    still = [one for one in open_zones({*shown, zone}, least) if one is not zone]
    if still:
        return still[0]
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


ACCESSORIES = ("footswitch", "cover", "mains lead", "speaker lead", "valves in boxes")  # until the shop keeps its own list
MOST_ACCESSORIES = 20


def accessory_list(text: str) -> tuple[str, ...]:
    """The shop's list of accessories: one a line or between commas, each once; the usual ones where nothing is listed.

    >>> accessory_list("footswitch, cover\\n cover")
    ('footswitch', 'cover')
    """
    listed = dict.fromkeys(" ".join(one.split()) for line in text.splitlines() for one in line.split(","))
    return tuple(one for one in listed if one) or ACCESSORIES


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
    views: int  # zones that were photographed, the serial plate not among them
    serial_shown: bool  # whether the serial plate was
    counted: bool
    looked: bool
    signed: bool
    agreed: bool  # whether a cost limit stands that whoever may approve cost agreed to, or nothing may be charged at all
    signed_fee_minor: int = 0
    fee_minor: int = 0
    signer_named: bool = True  # whoever signed still left the amp, owns it or approves cost
    least_views: int = LEAST_VIEWS
    at_counter: bool = True  # views and cost limit are asked before the first step; later the moment has passed


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
    if unseen := _unseen(facts):
        found.append(Lack(unseen, "condition"))
    if not facts.counted:
        found.append(Lack("Count the accessories.", "accessories"))
    if not facts.looked:
        found.append(Lack("Look for obvious danger.", "look"))
    if not facts.signed:
        found.append(Lack("Have the terms signed.", "terms"))
    elif facts.fee_minor > facts.signed_fee_minor:
        found.append(Lack("Have the terms signed again: the diagnosis fee was raised after the signature.", "terms"))
    elif facts.at_counter and not facts.signer_named:
        found.append(Lack("Have the terms signed again: whoever signed them is not named on this repair any more.", "terms"))
    elif facts.at_counter and not facts.agreed:
        found.append(Lack("Have the cost limit agreed by the person who may approve cost.", "money"))
    return tuple(found)


def _unseen(facts: Facts) -> str:
    """What is still to photograph, in one sentence; empty if nothing is. An amp with no marking at all has no plate to show."""
    if not facts.at_counter:
        return "" if facts.views or facts.serial_shown else "Photograph the amp as it came in."
    few = facts.least_views - facts.views
    no_plate = facts.serial.strip() == facts.mains_marking.strip() == NONE_FOUND
    plate = not facts.serial_shown and not no_plate
    if few <= 0:
        return "Photograph the serial plate." if plate else ""
    views = f"{facts.views} of {facts.least_views} views are there"
    return f"Photograph the amp as it came in{' and its serial plate' if plate else ''}: {views}."


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
