"""What must be done before an amp goes out, in each way it may go. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from app.errors import BadInput


class OldPartsFate(StrEnum):
    """What became of the parts that came out."""

    GIVEN_BACK = "given back"
    REFUSED = "offered and refused"
    EXCHANGED = "gone back in exchange, as agreed"
    NONE = "none came out"


class Collector(StrEnum):
    """Who takes the amp away."""

    DEPOSITOR = "who left it"
    OWNER = "the owner"
    SENT = "somebody they sent"  # rows hold this word; `word` is what is read
    CARRIER = "a carrier"

    @property
    def word(self) -> str:
        return "someone they sent" if self is Collector.SENT else self.value


class HowSigned(StrEnum):
    """Where the signature is."""

    SCREEN = "on the screen"
    PAPER = "on paper"
    TYPED = "typed, in person"


class Reason(StrEnum):
    """Why an amp leaves unrepaired."""

    DECLINED = "the customer declined the repair"
    UNECONOMIC = "not worth the money"
    UNSAFE = "it cannot be made safe here"

    @property
    def word(self) -> str:
        return "beyond economic repair" if self is Reason.UNECONOMIC else self.value


class Measure(StrEnum):
    """What was done so that nobody switches it on unawares. (Common practice, no source.)"""

    LEAD = "mains lead removed"
    PLUG = "plug tagged: do not switch on"
    FUSE = "mains fuse taken out"
    CLOSED = "chassis closed, no live part in reach"
    LABEL = "label tied to the amp"  # of before labels were recorded as tied when they were: nobody is offered it any more


OFFERED = tuple(one for one in Measure if one is not Measure.LABEL)


# Without one of these, whoever plugs it in is not warned by what is in the hand. (Common practice, no source.)
KEEPS_IT_OFF = frozenset({Measure.LEAD, Measure.PLUG, Measure.FUSE})


class Acknowledged(StrEnum):
    """How the warning was taken."""

    SCREEN = "signed on the screen"
    PAPER = "signed on paper"
    TYPED = "typed, in person"
    REFUSED = "refused to sign"


class Sent(StrEnum):
    """How a notice went out."""

    POST = "post"
    RECORDED = "recorded post"
    EMAIL = "e-mail"
    HAND = "by hand"
    PHONE = "by phone"


class Recipient(StrEnum):
    """Who a notice is for."""

    DEPOSITOR = "who left it"
    OWNER = "the owner"
    OTHER = "someone else"


class Fate(StrEnum):
    """What became of an amp that nobody came for."""

    KEPT = "kept in the store"
    SOLD = "sold"
    GIVEN = "given away"
    RECYCLED = "recycled"
    COURT = "as a court or tribunal ordered"

    @property
    def is_final(self) -> bool:
        """It is out of the owner's reach: done on the shop's own decision, and only after every notice."""
        return self in (Fate.SOLD, Fate.GIVEN, Fate.RECYCLED)


@dataclass(frozen=True)
class Lack:
    """One thing that is still to be done, and on which sheet."""

    text: str
    part: str


@dataclass(frozen=True)
class Thing:
    """An accessory as it came in, how many go back (None: not checked off), and why if they are not all."""

    what: str
    came: int
    given: int | None = None
    note: str = ""

    @property
    def settled(self) -> bool:
        return self.given is not None and (self.given == self.came or bool(self.note))


@dataclass(frozen=True)
class Facts:
    """How far the return has come. Sums in minor units; None where nothing is written down.

    `agrees`: the sums that were written down are those of the bill and of what was paid.
    """

    things: tuple[Thing, ...] = ()
    old_parts: bool = False
    due_minor: int | None = None
    ceiling_minor: int | None = None
    shown: bool = False
    signed: bool = False
    stands: bool = False  # the signature is for what stands now
    agrees: bool = True
    charged_though: str = ""  # why nothing may be charged, where something is


AGAIN = "A bill, a credit note or a payment was entered since the sums were saved: save the payment again."


CREDIT_IT = "Correct the bill with a credit note, then save the payment again."


def missing_items(facts: Facts) -> tuple[Lack, ...]:
    """Everything that the return still lacks, in the order in which a counter does it."""
    found = [*_things(facts.things)]
    if not facts.old_parts:
        found.append(Lack("Give the old parts back, or note that they are refused.", "old_parts"))
    if facts.due_minor is None:
        found.append(Lack("Record payment, or why it is unpaid.", "sums"))
    elif facts.due_minor > (facts.ceiling_minor or 0):
        found.append(Lack("What is due is more than was agreed: correct it, or get consent first.", "sums"))
    elif facts.charged_though:
        found.append(Lack(f"{facts.charged_though} {CREDIT_IT}", "sums"))
    elif not facts.agrees:
        found.append(Lack(AGAIN, "sums"))
    if not facts.shown:
        found.append(Lack("Show the amp working, or note that they did not want it.", "shown"))
    if not facts.signed:
        found.append(Lack("Get the signature of the person collecting it.", "sign"))
    elif not facts.stands:
        found.append(Lack("Something changed after the signature: have it signed again.", "sign"))
    return tuple(found)


@dataclass(frozen=True)
class UnrepairedFacts:
    """How far an unrepaired return has come. `stands`: what was acknowledged is the warning that stands now.

    `works`: it is written that it may still be switched on; `hazards` names serious and high risks that nobody has mended.
    """

    things: tuple[Thing, ...] = ()
    old_parts: bool = False
    written: bool = False
    acknowledged: bool = False
    stands: bool = False
    works: bool = False
    hazards: tuple[str, ...] = ()
    failed_test: bool = False
    fees: str = ""  # what is due for diagnosis and for declining, with its currency; empty for nothing
    settled: bool = False  # it is written down how that was settled
    agrees: bool = True
    charged_though: str = ""  # why nothing may be charged, where something is


def missing_items_unrepaired(facts: UnrepairedFacts) -> tuple[Lack, ...]:
    """Everything that an amp still lacks before it leaves unrepaired."""
    found: list[Lack] = []
    if not facts.written:
        found.append(Lack("Enter why it leaves unrepaired, and what was done so that nobody switches it on.", "unrepaired"))
    if facts.works and facts.hazards:
        found.append(Lack(f"{facts.hazards[0]} could hurt someone: it may not be switched on. Record how power is prevented "
                          f"(lead or fuse removed, plug tagged).",
                          "unrepaired"))
    elif facts.works and facts.failed_test:
        found.append(Lack("The last safety test failed: it may not be switched on. Record how power is prevented (lead or "
                          "fuse removed, plug tagged).", "unrepaired"))
    found += _things(facts.things)
    if not facts.old_parts:
        found.append(Lack("Give the old parts back, or note that they are refused.", "old_parts"))
    if facts.fees and not facts.settled:
        found.append(Lack(f"{facts.fees} is due, as agreed: record the payment, or why it is unpaid.", "sums"))
    elif facts.charged_though:
        found.append(Lack(f"{facts.charged_though} {CREDIT_IT}", "sums"))
    elif facts.settled and not facts.agrees:
        found.append(Lack(AGAIN, "sums"))
    if not facts.acknowledged:
        found.append(Lack("Have the warning acknowledged, or note the refusal with a witness.", "acknowledge"))
    elif not facts.stands:
        found.append(Lack("The warning changed after it was acknowledged: have it acknowledged again.", "acknowledge"))
    return tuple(found)


def _things(things: Sequence[Thing]) -> list[Lack]:
    return [Lack(f"Give back {one.came} × {one.what} and check it off.", "accessories") for one in things if not one.settled]


def named_parts(ticked: Sequence[str], more: str) -> str:
    """The old parts in a line: those ticked in the list, then whatever else was written."""
    return "; ".join([*ticked, *([more.strip()] if more.strip() else [])])


def parted(listed: Sequence[str], named: str) -> tuple[list[str], str]:
    """The same line taken apart again: which of the listed parts it names, and what else it says."""
    said = named.split("; ") if named else []
    return [one for one in listed if one in said], "; ".join(one for one in said if one not in listed)


def check_made_safe(reason: Reason, danger: str, measures: Sequence[Measure], works: str) -> None:
    """Refuse a record that leaves an amp to be switched on unawares.

    `works` says why it may still be switched on; without it one of KEEPS_IT_OFF is needed. An amp that is unsafe never may.
    """
    if not danger.strip():
        raise BadInput("Enter in plain words what is wrong with it and what could happen.", "danger")
    if reason is Reason.UNSAFE and works.strip():
        raise BadInput("It is unsafe: leave this empty and say how it is kept from being switched on.", "works")
    if not works.strip() and not KEEPS_IT_OFF.intersection(measures):
        raise BadInput("Take the lead off, tag the plug or take the fuse out, and tick it here.", "measures")


@dataclass(frozen=True)
class Waiting:
    """What the law asks before an uncollected amp may be dealt with: days after the last notice was given, and how many notices.

    `to`: who must each get them; empty where nobody is named.
    """

    notices: int
    days: int
    to: tuple[Recipient, ...] = ()


@dataclass(frozen=True)
class Given:
    """One notice: the day on which it counts as given, and for whom it was (None: not said)."""

    on: date
    recipient: Recipient | None = None


def still_to_get_one(given: Sequence[Given], waiting: Waiting) -> Recipient | None:
    """Who has not had all the notices yet; None if everybody has. Notices that name nobody count for everybody."""
    for who in waiting.to:
        if sum(one.recipient in (who, None) for one in given) < max(1, waiting.notices):
            return who
    return None


def earliest(given: Sequence[Given], waiting: Waiting) -> date | None:
    """The first day on which the notice period has passed, counted from the last one given; None while not all are."""
    if len(given) < max(1, waiting.notices) or still_to_get_one(given, waiting) is not None:
        return None
    return max(one.on for one in given) + timedelta(days=waiting.days)


def months_on(day: date, months: int) -> date:
    """The same day so many months later; the 28th at the latest, which every month has."""
    years, month = divmod(day.month - 1 + months, 12)
    return day.replace(year=day.year + years, month=month + 1, day=min(day.day, 28))
