"""What is signed as an amp goes out: typed facts, by which a signature stands or falls, and the words in which they are read. Pure.

A signature is for the facts. How they are said, the shop's name and letterhead among it, may change without asking anybody to
sign again; the very words that were read are kept beside the signature.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from app.handover.rules import OldPartsFate, Reason
from app.kernel.facts import since
from app.kernel.money import show
from app.money.rules import Method

RECEIVED, WARNED = "received back", "warned"  # the two kinds of facts
VERSION = 2  # 2: what work of safety was declined
WARNED_VERSION = 2  # 2: the fees of an amp that leaves unrepaired, and what is still off it


@dataclass(frozen=True)
class Returned:
    """One accessory: how many came in, how many go back (None: not checked off), and why if not all."""

    what: str
    came: int
    given: int | None
    note: str


@dataclass(frozen=True)
class Parts:
    """What became of the old parts, and which they are."""

    fate: OldPartsFate
    which: str


@dataclass(frozen=True)
class Paid:
    """What is due and paid, in minor units of `currency`, tax included."""

    due_minor: int
    paid_minor: int
    currency: str
    method: Method
    open_because: str


@dataclass(frozen=True)
class Shown:
    """Whether it was shown working, and what was said about its use."""

    shown: bool
    said: str


@dataclass(frozen=True)
class ToSign:
    """What whoever takes a repaired amp signs for.

    `declined`: work that its safety asked for, whose hazard stands, with who declined it and how.
    `moments`: when each was written down, by which signatures of before there were facts are compared.
    """

    number: int
    title: str
    serial: str
    things: tuple[Returned, ...]
    old_parts: Parts | None
    paid: Paid | None
    shown: Shown | None
    passed_at: datetime | None  # the safety test that it passed
    moments: tuple[datetime, ...] = field(metadata=since(0, aside=True))
    declined: tuple[str, ...] = field(default=(), metadata=since(2))
    version: int = VERSION


@dataclass(frozen=True)
class ToAcknowledge:
    """What whoever takes an unrepaired amp is warned of. `works` empty: it may not be switched on at all."""

    number: int
    title: str
    serial: str
    reason: Reason
    danger: str
    works: str
    measures: tuple[str, ...]
    tag: str
    advice: str
    things: tuple[Returned, ...]
    old_parts: Parts | None
    moments: tuple[datetime, ...] = field(metadata=since(0, aside=True))
    paid: Paid | None = field(default=None, metadata=since(2))
    still_off: tuple[str, ...] = field(default=(), metadata=since(2))
    version: int = WARNED_VERSION


def words_to_sign(facts: ToSign, shop: str, day: Callable[[datetime], str]) -> str:
    """The text of a receipt. Blocks are parted by blank lines; `day` says a day as the shop does."""
    tested = f"It passed the shop's safety test on {day(facts.passed_at)}. " if facts.passed_at else ""
    return "\n\n".join([f"Received back from {shop}: {_amp(facts)}, repair {facts.number}.",
                        *_with_it(facts.things, facts.old_parts), _sums(facts.paid), _shown(facts.shown),
                        *([f"Declined, and not done: {'; '.join(facts.declined)}. The hazard stands."] if facts.declined else []),
                        f"{tested}The repair report, which is issued with this signature, says what was found and done. Neither "
                        "is a promise about anything after that day beyond the warranty that the report names."])


def words_to_acknowledge(facts: ToAcknowledge, shop: str, *, refused_by: str = "") -> str:
    """The warning. `refused_by` names whoever would not sign it: they declare nothing, it was read out to them."""
    use = (f"Switch on only as follows: {facts.works}." if facts.works
           else "It must not be plugged in or switched on until someone qualified has repaired and tested it.")
    done = "; ".join(facts.measures) or "nothing that keeps it from being switched on"
    last = (f"This was read out to {refused_by}, who refused to sign it." if refused_by
            else "I have read this and take the amp as it is.")
    tag = f", tag {facts.tag}" if facts.tag else ""
    return "\n\n".join([f"{_amp(facts)}, repair {facts.number}, leaves {shop} unrepaired: {facts.reason.word}.",
                        f"What is wrong and what could happen: {facts.danger}", use,
                        f"What was done: {done}. A label with this warning goes with it{tag}.",
                        *([f"Advice: {facts.advice}"] if facts.advice else []),
                        *([f"Still off the amp, and given with it: {', '.join(facts.still_off)}."] if facts.still_off else []),
                        *_with_it(facts.things, facts.old_parts), *([_sums(facts.paid)] if facts.paid else []),
                        f"This amp has NOT been repaired and tested. The shop does not call it safe. {last}"])


def _amp(facts: ToSign | ToAcknowledge) -> str:
    return f"{facts.title}{f', serial {facts.serial}' if facts.serial else ''}"


def _with_it(things: tuple[Returned, ...], parts: Parts | None) -> list[str]:
    listed = [f"{one.given} of {one.came} × {one.what}{f' ({one.note})' if one.note else ''}" if one.given is not None
              else f"{one.came} × {one.what}, not checked off yet" for one in things]
    said = f"Old parts: {parts.fate.value}{f' ({parts.which})' if parts.which else ''}." if parts else "Old parts: not settled."
    return [f"With it: {', '.join(listed) or 'nothing came with it'}.", said]


def _sums(paid: Paid | None) -> str:
    if paid is None:
        return "Money: not settled."
    open_minor = paid.due_minor - paid.paid_minor
    rest = f" {show(open_minor, paid.currency)} stays open: {paid.open_because}" if open_minor else ""
    how = f", the last of it by {paid.method.value}" if paid.paid_minor and paid.method is not Method.NOTHING else ""
    return f"Due {show(paid.due_minor, paid.currency)}, paid {show(paid.paid_minor, paid.currency)}{how}.{rest}"


def _shown(shown: Shown | None) -> str:
    if shown is None:
        return "Not demonstrated yet."
    said = f" {shown.said}" if shown.said else ""
    return ("Demonstrated before it left." if shown.shown else "Demonstration declined.") + said
