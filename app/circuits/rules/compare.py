"""What a node read against what it should read: which source speaks, the deviation in bands, and why in words. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.circuits.rules.work import Expected, Range, Worked
from app.measuring.rules import Inputs, Relation, Verdict, judged, say, say_band

PRINTED = 0.20  # how far a schematic's printed volts may be off where the drawing says nothing: common practice, no source
LEFT = 0.10  # how far another amp of the model may be from one that was left right: common practice, no source
CARRIED = 0.15  # a reading at mains further off is not carried: valves follow no further. Common practice, no source
HEAVY = 0.05  # a meter that takes more than this of what it reads is named


class Source(StrEnum):
    """What says how much a node should read."""

    CALCULATED = "calculated from the sheet"
    PRINTED = "printed on the schematic"
    AS_LEFT = "as-left readings of the model"


IN_TURN = tuple(Source)


@dataclass(frozen=True)
class Printed:
    """Volts that a schematic prints at a node, at the tap's volts, with their tolerance and where they stand."""

    node: str
    volt: float
    tolerance: float
    said: str


@dataclass(frozen=True)
class Left:
    """A reading as left on another repair of the model, carried to the tap's volts."""

    node: str
    volt: float
    order: str


@dataclass(frozen=True)
class Said:
    """What one source says of a node: at the mains as measured and at the tap's volts. words: the source and its tolerance."""

    source: Source
    now: Range
    at_tap: Range
    words: str


@dataclass(frozen=True)
class Read:
    """A reading at a node: volts, its relation and expanded uncertainty, and the mains it was taken at.

    out_of_date: how its instrument stood, in a word, where it did not count.
    """

    volt: float
    relation: Relation = Relation.IS
    uncertainty: float | None = None
    mains_v: float | None = None
    out_of_date: str = ""


@dataclass(frozen=True)
class Held:
    """A reading held against what is expected. carried: what it would have been at the sheet's mains, and at_tap at the tap's
    volts; off: the deviation in half-bands (1 is the edge), None without a band; why: the verdict in words.
    """

    read: Read
    verdict: Verdict
    carried: float
    at_tap: float
    off: float | None
    why: str


@dataclass(frozen=True)
class Row:
    """One node: all that is said of it, the one that speaks, and what was read as found and as left."""

    node: str
    block: str
    unit: str
    said: tuple[Said, ...]
    as_found: Held | None = None
    as_left: Held | None = None

    @property
    def speaks(self) -> Said | None:
        """The source that the readings are held against: the first."""
        return self.said[0] if self.said else None

    @property
    def latest(self) -> Held | None:
        """As left where there is one."""
        return self.as_left or self.as_found


@dataclass(frozen=True)
class Known:
    """What stands beside the sheet: printed volts, as-left readings of the model, readings of this amp by node."""

    printed: tuple[Printed, ...] = ()
    left: tuple[Left, ...] = ()
    as_found: Mapping[str, Read] | None = None
    as_left: Mapping[str, Read] | None = None


def rows(worked: Worked, known: Known, *, first: Source, mains_v: float | None, tap_v: float | None) -> list[Row]:
    """Every node that any source says something of, held against its readings. first: the source that is preferred."""
    names = list(dict.fromkeys([*(one.node.name for one in worked.expected), *(one.node for one in known.printed),
                                *(one.node for one in known.left)]))
    found = []
    for name in names:
        calculated = worked.of(name)
        said = [*_calculated(calculated, mains_v, tap_v), *_printed(name, known.printed, worked.factor),
                *_left(name, known.left, worked.factor)]
        said.sort(key=lambda one: (one.source is not first, IN_TURN.index(one.source)))
        unit = "V AC" if calculated is not None and calculated.node.ac else "V DC"
        block = calculated.node.block if calculated else name
        loading = calculated.loading if calculated else 0.0
        # Heaters are held to their nominal volts whatever the mains is: that is what they must stand.
        tap = None if calculated is not None and calculated.node.mains else tap_v
        before, after = (known.as_found or {}).get(name), (known.as_left or {}).get(name)
        found.append(Row(name, block, unit, tuple(said), _held(before, said, worked.factor, tap, loading),
                         _held(after, said, worked.factor, tap, loading)))
    return found


def _calculated(one: Expected | None, mains_v: float | None, tap_v: float | None) -> Iterable[Said]:
    if one is None:
        return
    at = f"at {say(mains_v, 'V')} mains" if mains_v else "mains not measured, ±10 %"
    taken = f"; the meter takes {one.loading:.1%}" if one.loading >= 0.001 else ""
    tap = f", {say(tap_v, 'V')} tap" if tap_v else ""
    what = f", {one.words}" if one.words else ""
    yield Said(Source.CALCULATED, one.now, one.at_tap, f"{Source.CALCULATED.value} {at}{tap}{what}{taken}")


def _about(volt: float, tolerance: float) -> Range:
    room = abs(volt) * tolerance
    return Range(volt - room, volt, volt + room)


def _scaled(one: Range, factor: float) -> Range:
    return Range(one.low * factor, one.value * factor, one.high * factor)


def _printed(name: str, printed: Iterable[Printed], factor: float) -> Iterable[Said]:
    for one in printed:
        if one.node == name:
            at_tap = _about(one.volt, one.tolerance)
            where = f": {one.said}" if one.said else ""
            yield Said(Source.PRINTED, _scaled(at_tap, factor), at_tap, f"{Source.PRINTED.value}, ±{one.tolerance:.0%}{where}")


def _left(name: str, left: Iterable[Left], factor: float) -> Iterable[Said]:
    mine = [one for one in left if one.node == name]
    if mine:
        volts = sorted(one.volt for one in mine)
        middle = volts[len(volts) // 2] if len(volts) % 2 else sum(volts[len(volts) // 2 - 1:len(volts) // 2 + 1]) / 2
        at_tap = _about(middle, LEFT)
        orders = ", ".join(dict.fromkeys(one.order for one in mine))
        yield Said(Source.AS_LEFT, _scaled(at_tap, factor), at_tap, f"{Source.AS_LEFT.value}, ±{LEFT:.0%}: repair {orders}")


def _held(read: Read | None, said: list[Said], factor: float, tap_v: float | None, loading: float) -> Held | None:
    if read is None:
        return None
    mine = read.mains_v / tap_v if read.mains_v and tap_v else factor
    # The band was made at the sheet's mains; a reading at other mains is carried there, and its uncertainty with it.
    carried = read.volt * factor / mine
    if not said:
        return Held(read, Verdict.NOT_JUDGED, carried, read.volt / mine, None, "Nothing says what it should read.")
    speaks = said[0]
    uncertainty = None if read.uncertainty is None else read.uncertainty * factor / mine
    verdict = judged(Inputs(carried, read.relation, speaks.now.low, speaks.now.high, uncertainty)).verdict
    against = _against(read, mine / factor)
    if against and verdict is Verdict.PASS:
        verdict = Verdict.UNDECIDED
    half = speaks.now.high - speaks.now.value if carried >= speaks.now.value else speaks.now.value - speaks.now.low
    off = (carried - speaks.now.value) / half if half > 0 else None
    why = _why(read, verdict, speaks, carried, off, loading, other_mains=mine != factor, against=against)
    return Held(read, verdict, carried, read.volt / mine, off, f"{why} {against}".strip())


def _against(read: Read, share: float) -> str:
    """What speaks against a reading in its band, in sentences; empty if nothing does."""
    far = f"{say(read.mains_v, 'V')} mains is too far to carry to the sheet’s." if abs(share - 1) > CARRIED else ""
    dated = f"Its instrument was {read.out_of_date}." if read.out_of_date else ""
    return " ".join(one for one in (far, dated) if one)


def _why(read: Read, verdict: Verdict, speaks: Said, carried: float, off: float | None, loading: float, *,
         other_mains: bool, against: str) -> str:
    """The verdict in words: what was expected by whom, how far off it is, and what of that the meter may be."""
    band = say_band(speaks.now.low, speaks.now.high, "V")
    words = [f"Expected {say(speaks.now.value, 'V', 4)} ({band}), {speaks.words}."]
    if other_mains:
        words.append(f"Read at {say(read.mains_v, 'V')} mains, it would be {say(carried, 'V', 4)} at the sheet’s.")
    side = "above" if carried > speaks.now.value else "below"
    if verdict is Verdict.FAIL and off is not None:
        share = f", {abs(carried - speaks.now.value) / abs(speaks.now.value):.0%}" if abs(speaks.now.value) > 0.5 else ""
        meter = f", more than the meter’s ±{say(read.uncertainty, 'V', 2)} can be" if read.uncertainty is not None else ""
        words.append(f"It is {say(abs(carried - speaks.now.value), 'V', 3)} {side}{share}: {abs(off):.1f} half-bands{meter}.")
    elif verdict is Verdict.UNDECIDED and not against:
        words.append("It is too close to the edge of the band for this meter to tell.")
    elif verdict is Verdict.NOT_JUDGED:
        words.append("The instrument states no accuracy for it.")
    if loading >= HEAVY:
        words.append(f"The meter takes {loading:.0%} of the true volts here; the band counts that.")
    return " ".join(words)
