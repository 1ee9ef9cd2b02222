"""What a part's place asks of it, and whether what arrived will do. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from app.electrics.notation import show
from app.errors import BadInput
from app.kernel.spec import Choice, Number, Text, asked, values
from app.quote.rules.words import PartCondition


class PartKind(StrEnum):
    """What sort of part."""

    VALVE = "valve"
    CAPACITOR = "capacitor"
    RESISTOR = "resistor"
    SEMICONDUCTOR = "semiconductor"
    POTENTIOMETER = "potentiometer"
    TRANSFORMER = "transformer"
    FUSE = "fuse"
    MAINS = "mains lead or inlet"
    SOCKET = "socket or switch"
    WIRE = "wire and sleeving"
    HARDWARE = "screws and hardware"
    OTHER = "other"


class PartState(StrEnum):
    """How far a part has come."""

    NEEDED = "needed"
    ORDERED = "ordered"
    RECEIVED = "received"
    FITTED = "fitted"
    DROPPED = "dropped"


class Dropped(StrEnum):
    """Why a part that was needed is not got, or not kept; only the last ends the need for it."""

    CANCELLED = "the order was cancelled"
    SENT_BACK = "it came and was sent back"
    WITHOUT = "not needed: planned without it"

    @property
    def word(self) -> str:
        return {"the order was cancelled": "cancelled", "it came and was sent back": "sent back"}.get(self.value, "not needed")


class Incoming(StrEnum):
    """Outcome of the test on arrival."""

    PASSED = "passed"
    FAILED = "failed"
    LOOKED_AT = "looked at only"

    @property
    def word(self) -> str:
        return "visual check only" if self is Incoming.LOOKED_AT else self.value


class Settle(StrEnum):
    """What becomes of a rating whose calculation was changed or withdrawn."""

    TAKE = "take"
    KEEP = "keep"
    OTHER = "other"


@dataclass(frozen=True)
class RatedAgain:
    """How it is settled: by the new figure, by keeping the one that is there, or by another (SI); the last two with a reason."""

    how: Settle
    value: float | None = None
    reason: str = ""


# The rating that decides whether a part of this kind lives in its place. (Common practice, no source.)
DECIDED_BY = {PartKind.CAPACITOR: "volts", PartKind.RESISTOR: "watts"}
# A look does not show whether these are good. (Common practice, no source.)
MUST_BE_TESTED = frozenset({PartKind.VALVE, PartKind.CAPACITOR})


@dataclass(frozen=True)
class Rating:
    """Volts and watts; None where the place asks nothing, or where nothing is marked on the part.

    Of a place also the reverse volts and the ripple (volts, peak to peak) that it puts on the part.
    """

    volts: float | None = None
    watts: float | None = None
    reverse_volts: float | None = None
    ripple_volts: float | None = None

    @property
    def words(self) -> str:
        told = [show(value, unit) for value, unit in ((self.volts, "V"), (self.watts, "W")) if value is not None]
        told += [f"{show(value, 'V')} {what}" for value, what in ((self.reverse_volts, "reverse"), (self.ripple_volts, "of ripple"))
                 if value is not None]
        return ", ".join(told)

    @property
    def withstand(self) -> float | None:
        """The volts that must be marked on the part: those of its place, forward or reverse, whichever are more."""
        return max((one for one in (self.volts, self.reverse_volts) if one is not None), default=None)


@dataclass(frozen=True)
class Need:
    """What is to be got: what, how many, for where, and what its place asks of it.

    `condition` None: any condition will do. Volts and watts of the rating, and the condition, are asked as PlaceAsks.
    """

    what: str = asked(Text("Part: type and value", "Name the part: type and value.", longest=200, journal="part"))
    kind: PartKind = asked(Choice("Sort of part", "Choose what sort of part it is.", words=values(PartKind)))
    quantity: int = asked(Number("How many", "Enter how many, 1 or more.", whole=True, low=1, high=999,
                                 wrong="Enter from 1 to 999.", start=1, journal="how many"))
    place: str = asked(Text("Place", "Enter where it goes: C14, V3, mains inlet.", longest=120))
    rating: Rating = Rating()
    rating_source: str = asked(Text("Where that comes from", longest=200, journal="from", said=lambda words: words or None), "")
    condition: PartCondition | None = None


@dataclass(frozen=True)
class CalledFor:
    """The line of the quote that calls for a part; the journal tells its words."""

    line_root_id: int = asked(Choice("For which line of the quote", None, drop_down=True, later=True, reads=int, start=0,
                                     journal=None), 0)


@dataclass(frozen=True)
class PlaceAsks:
    """What the place of a part asks of it, as a part keeps it; the journal tells its volts and watts as one rating."""

    needed_volts: float | None = asked(Number("Worst-case voltage", unit="V", journal=None), None)
    needed_watts: float | None = asked(Number("Worst-case power", unit="W", journal=None), None)
    needed_reverse_volts: float | None = asked(Number("Reverse voltage", unit="V", journal=None), None)
    needed_ripple_volts: float | None = asked(Number("Ripple, peak to peak", unit="V", journal=None), None)
    needed_condition: PartCondition | None = asked(
        Choice("It must be", words=values(PartCondition), blank="in any condition", blank_key="any", journal="condition needed",
               said=lambda condition: condition.value if condition else None), None)


@dataclass(frozen=True)
class Arrival:
    """What came: in what condition, marked how, from which batch, and how its test went."""

    condition: PartCondition
    rating: Rating
    batch: str
    test: Incoming
    test_words: str
    charged_minor: int


def check_need(need: Need) -> None:
    """Refuse a need that says too little to order by."""
    if not need.what.strip():
        raise BadInput("Name the part: type and value.", "what")
    if need.quantity < 1:
        raise BadInput("Enter how many, 1 or more.", "quantity")
    if not need.place.strip():
        raise BadInput("Enter where it goes: C14, V3, mains inlet.", "place")
    for field, value in (("needed_volts", need.rating.volts), ("needed_watts", need.rating.watts),
                         ("needed_reverse_volts", need.rating.reverse_volts), ("needed_ripple_volts", need.rating.ripple_volts)):
        if value is not None and not (math.isfinite(value) and value > 0):
            raise BadInput("Enter a rating above 0.", field)
    decides = DECIDED_BY.get(need.kind)
    if decides == "volts" and need.rating.volts is None:
        raise BadInput("Enter the most volts that its place can see.", "needed_volts")
    if decides == "watts" and need.rating.watts is None:
        raise BadInput("Enter the most watts that its place can ask of it.", "needed_watts")
    if need.rating.words and not need.rating_source.strip():
        raise BadInput("Enter where the rating comes from: computed, measured, marked on the old part.", "rating_source")


def check_arrival(need: Need, came: Arrival) -> None:
    """Refuse a part that is marked for less than its place asks, or is not what was asked for."""
    for field, unit, asks, bears in (("rated_volts", "V", need.rating.withstand, came.rating.volts),
                                     ("rated_watts", "W", need.rating.watts, came.rating.watts)):
        if asks is None:
            continue
        if bears is None:
            raise BadInput(f"Its place asks for {show(asks, unit)}. Enter what is marked on the part.", field)
        if bears < asks:
            raise BadInput(f"{need.place} needs {show(asks, unit)}; this part is rated {show(bears, unit)}. "
                           "Do not fit it: send it back, or change what its place needs.", field)
    if need.condition is not None and came.condition is not need.condition:
        raise BadInput(f"A {need.condition.value} part was asked for and this is {came.condition.value}. Ask the customer, "
                       "change what is needed, then receive it.", "condition")
    if came.charged_minor < 0:
        raise BadInput("Enter a price of 0 or more.", "charged_minor")
    if came.condition is PartCondition.CUSTOMERS and came.charged_minor:
        raise BadInput("The customer’s own part is not charged. Enter 0.", "charged_minor")
    if need.kind in MUST_BE_TESTED and came.test is Incoming.LOOKED_AT:
        raise BadInput("A visual check is not enough here. Test it.", "test")
    if came.test is not Incoming.LOOKED_AT and not came.test_words.strip():
        raise BadInput("Enter what the test showed: values, leakage, emission, shorts.", "test_words")
