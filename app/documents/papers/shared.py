"""Facts that several papers tell: the amp, its pictures, what goes back with it, a signature."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from app.handover import queries as handover
from app.handover.rules import OldPartsFate
from app.kernel.facts import since
from app.orders.models import RepairOrder
from app.photos import queries
from app.photos.models import Phase, Photo, Pin
from app.photos.rules import said
from app.records.models import Amp

MOST_PAIRS = 6
FINDING_PIN = "finding"


@dataclass(frozen=True)
class Goods:
    """The amp as it is marked."""

    title: str
    serial: str
    mains_marking: str
    protection: str  # class I, II, or not known yet


@dataclass(frozen=True)
class Picture:
    """A photo that is printed, its web copy by its SHA-256; width and height in pixels."""

    photo_id: int
    web_sha256: str
    width: int
    height: int
    place: str
    caption: str
    phase: Phase

    @property
    def words(self) -> str:
        return said(self.place, self.caption, self.phase.word)


@dataclass(frozen=True)
class Callout:
    """A numbered pin on a printed photo: where, as fractions of the picture, and whether it is the one that is spoken of."""

    number: int
    x: float
    y: float
    own: bool


@dataclass(frozen=True)
class Shown:
    """A photo with the pins over it; without any it shows its finding as a whole."""

    picture: Picture
    callouts: tuple[Callout, ...] = ()


@dataclass(frozen=True)
class Pair:
    """One view; `left` is None where nobody photographed it again."""

    found: Picture
    left: Picture | None


@dataclass(frozen=True)
class Signed:
    """Who signed, how and when. `path` is an SVG path in a 640 × 200 field; empty if it is on paper or was refused."""

    name: str
    who: str
    how: str
    path: str
    at: datetime = field(metadata=since(1))
    by_name: str
    witness: str = ""


@dataclass(frozen=True)
class Thing:
    """An accessory: how many came, how many go back (None: not checked off), and why if they are not all."""

    what: str
    came: int
    given: int | None
    note: str
    at: datetime | None


@dataclass(frozen=True)
class OldParts:
    """What became of the parts that came out."""

    fate: OldPartsFate
    which: str
    at: datetime


def goods(amp: Amp) -> Goods:
    return Goods(amp.title, amp.serial, amp.mains_marking, amp.protection_class.value)


def picture(photo: Photo) -> Picture:
    return Picture(photo.id, photo.web_sha256, photo.width, photo.height, photo.place, photo.caption, photo.phase)


def pairs(order: RepairOrder) -> tuple[Pair, ...]:
    """The pairs that the screen shows: those that are whole, at most MOST_PAIRS; else the first two as found."""
    both = [Pair(picture(pair.found), picture(pair.left)) for pair in queries.pairs(order.id) if pair.found and pair.left]
    alone = [Pair(picture(pair.found), None) for pair in queries.pairs(order.id) if pair.found and not pair.left]
    return tuple((both or alone[:2])[:MOST_PAIRS])


def shown_with(finding_id: int, pinned: Mapping[int, Sequence[Pin]], numbers: Mapping[int, int]) -> tuple[Shown, ...]:
    """Every photo of a finding: first those on which it is pinned in its place, then its close-ups.

    `pinned` holds the pins of each finding, `numbers` the number of each finding that is told: their pins stand on the
    same photo.
    """
    own = sorted(pinned.get(finding_id, ()), key=lambda pin: pin.x is None)
    return tuple(Shown(picture(one.photo), _callouts(one, finding_id, pinned, numbers) if one.x is not None else ())
                 for one in own)


def _callouts(shown: Pin, finding_id: int, pinned: Mapping[int, Sequence[Pin]], numbers: Mapping[int, int],
              ) -> tuple[Callout, ...]:
    there = [pin for subject in sorted(numbers) for pin in pinned.get(subject, ()) if pin.photo_id == shown.photo_id]
    return tuple(Callout(numbers[pin.subject_id], pin.x, pin.y, pin.subject_id == finding_id) for pin in there
                 if pin.x is not None and pin.y is not None)


def things(order: RepairOrder) -> tuple[Thing, ...]:
    """What came in with the amp, and what was checked off of it."""
    return tuple(Thing(one.what, one.quantity, back.given if back else None, back.note if back else "", back.at if back else None)
                 for one, back in handover.things(order.id))


def old_parts(order: RepairOrder) -> OldParts | None:
    """What is written down of them."""
    found = handover.old_parts(order.id)
    return OldParts(found.fate, found.which, found.at) if found else None
