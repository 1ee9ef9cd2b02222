"""What a step of the way back needs before it counts as done. Pure. Rules of the trade are common practice, no source."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from app.errors import BadInput
from app.measuring.rules import Quantity, say_band
from app.reassembly.planner import Step, check

# What a step of a removal's own does, as the planner names it; the others belong to several removals at once.
OWN = frozenset({"", "IN", "BODY", "OVER", "NUT", "TIGHT", "KNOB", "B", "N", "E", "LK", "CL",
                 "prep", "fit", "over", "snug", "tight", "trim"})
JOINED = "in "  # how the planner names the placing of one end of a thing

MEASURED = frozenset({"PE", "PEA", "ISO", "IR", "COLD"})
EARTHS = frozenset({"PE", "PEA"})  # the second: again, of what was open and is bonded
ENDS = frozenset({"V", "LOOK"})  # a look at the joints of one thing, with its wire ends counted
CAVITY = "count"  # the count of a cavity that the records name
COUNTED = frozenset({"CT", "CT_cover", "CT_final", CAVITY}) | ENDS
# Stages with the mains on → what is read in each. The plan says what must be proven before which.
POWERED = {"LAMP": Quantity.VOLT_AC, "BIAS": Quantity.VOLT_DC, "HT": Quantity.VOLT_DC, "SMALL": Quantity.VOLT_DC,
           "OUT": Quantity.AMP_DC}
AT_EACH_OUTPUT_VALVE = frozenset({"BIAS", "OUT"})
DEAD = "DEAD"  # switched off, discharged and measured
PROOFS = MEASURED | COUNTED | POWERED.keys() | {DEAD}
DECIDE = "HOLD"


@dataclass(frozen=True)
class Limit:
    """What a reading is held against at the bench, in ohms; the safety test has limits of its own."""

    lower: float | None
    upper: float | None
    basis: str
    caution: str = ""


# Common practice, no source: enough to show a missing joint or a wrong washer before anything is closed.
LIMITS: Mapping[str, Limit] = {
    "PE": Limit(None, 0.3, "bench sequence of the trade, as no safety profile is in force; the safety test has its own limit",
                "Unplugged. Measure from the earth pin to the chassis and to every frame it bonds, and move the lead meanwhile."),
    "PEA": Limit(None, 0.3, "bench sequence of the trade, as no safety profile is in force; the safety test has its own limit",
                 "Unplugged. Measure from the earth pin to bare metal of what was open; paint and a lost washer insulate."),
    "ISO": Limit(1e6, None, "bench proof that the sleeve is clear of the chassis"),
    "COLD": Limit(50e3, None, "bench sequence of the trade: it must rise past the bleeder path",
                  "Unplugged, discharged, measured dead. A charging capacitor reads low at first: wait until the reading stands. "
                  "Find what leads to 0 V before any power; a path in the drawing that is lower says so as the expectation."),
    "IR": Limit(1e6, None, "bench sequence of the trade, as no safety profile is in force; the safety test has its own limit",
                "The plug is in the tester, never in the wall. The test puts hundreds of volts on the leads and can charge "
                "capacitors: nobody touches them while it runs, and all of it is discharged before a hand goes in. Local rules "
                "and licensed practice govern."),
}


# What may be held against an expectation other than the usual limit, or stand as an explained deviation: what lies across a
# jack is in the drawing. An earth or an insulation is never explained away.
EXPLICABLE = frozenset({"ISO", "COLD"})


def limit_for(what: str, usual: Limit, lower: float | None, upper: float | None, basis: str) -> Limit:
    """The limit that judges a reading: the usual one, or another that says what it rests on.

    BadInput for a wider one, save where what is measured may be expected otherwise (EXPLICABLE).
    """
    if what in EXPLICABLE and (lower, upper) not in ((None, None), (usual.lower, usual.upper)):
        if basis.strip() in ("", usual.basis):
            raise BadInput("Enter what the expectation rests on: the drawing, the twin channel, a sum.", "basis")
        return Limit(lower, upper, basis.strip(), usual.caution)
    if lower is not None and (usual.lower is None or lower < usual.lower):
        raise BadInput(f"The usual limit is {say_band(usual.lower, usual.upper, 'Ω')}. Only a tighter one can be entered.", "lower")
    if upper is not None and (usual.upper is None or upper > usual.upper):
        raise BadInput(f"The usual limit is {say_band(usual.lower, usual.upper, 'Ω')}. Only a tighter one can be entered.", "upper")
    if lower in (None, usual.lower) and upper in (None, usual.upper):
        return usual
    if basis.strip() in ("", usual.basis):
        raise BadInput("Enter what the tighter limit rests on.", "basis")
    return Limit(usual.lower if lower is None else lower, usual.upper if upper is None else upper, basis.strip(), usual.caution)


def is_own(what: str) -> bool:
    """Whether a step is a removal's own, so that it is back when all of them are done."""
    return what in OWN or what.startswith(JOINED)


def kind_of(origin: tuple[str, str]) -> str:
    """'measured', 'counted', 'powered', 'dead', 'decide' or 'done' by a tap."""
    what = origin[0]
    if what in POWERED:
        return "powered"
    sorts = {DEAD: "dead", DECIDE: "decide", **dict.fromkeys(MEASURED, "measured"), **dict.fromkeys(COUNTED, "counted")}
    return sorts.get(what, "done")


def own_steps(origins: Mapping[str, tuple[str, str]], owner: str) -> list[str]:
    """The steps after which a removal is back: all that are its own."""
    return [step for step, (what, of) in origins.items() if of == owner and is_own(what)]


def unmet_predecessors(step: str, steps: Iterable[Step], done: Collection[str]) -> tuple[str, ...]:
    """What this step would come too early for, by the planner's own check of the order."""
    return tuple(fault.lacks for fault in check([step], list(steps), done=done) if fault.kind == "too_early" and fault.lacks)


def why_not_forced(lacks: Iterable[str], origins: Mapping[str, tuple[str, str]]) -> str:
    """A deviation may change an order of hands, never pass over a measurement, a count or an open decision."""
    if any(origins[lack][0] in PROOFS for lack in lacks):
        return "Measurements and counts cannot be skipped. Do that first."
    if any(origins[lack][0] == DECIDE for lack in lacks):
        return "Decide first what becomes of it."
    return ""


def before(step: str, steps: Mapping[str, Step]) -> set[str]:
    """Every step that this one waits for, directly or not."""
    found: set[str] = set()
    waiting = list(steps[step].after)
    while waiting:
        one = waiting.pop()
        if one not in found and one in steps:
            found.add(one)
            waiting.extend(steps[one].after)
    return found


def behind(step: str, steps: Iterable[Step]) -> set[str]:
    """Every step that waits for this one, directly or not."""
    found, grown = {step}, True
    listed = list(steps)
    while grown:
        more = {one.id for one in listed if one.id not in found and found & set(one.after)}
        found |= more
        grown = bool(more)
    return found - {step}


def invalidated(done: Mapping[str, int], steps: Iterable[Step], proofs: Collection[str]) -> set[str]:
    """Proofs that prove nothing any more: something that they follow is open again, or was done after them.

    `done` is each step that is done with a number that grows as steps are done.
    """
    listed = {step.id: step.after for step in steps}
    standing, found = dict(done), set[str]()
    while stale := {one for one in proofs if one in standing and _is_invalidated(one, standing, listed)}:
        found |= stale
        for one in stale:
            del standing[one]
    return found


def _is_invalidated(proof: str, done: Mapping[str, int], after: Mapping[str, Collection[str]]) -> bool:
    if any(one not in done for one in after[proof]):
        return True
    seen, waiting = set[str](), list(after[proof])
    while waiting:
        one = waiting.pop()
        if one not in seen:
            seen.add(one)
            waiting.extend(after[one])
    return any(done.get(one, 0) > done[proof] for one in seen)


@dataclass(frozen=True)
class Difference:
    """What has changed in a plan: labels of steps that are new, that are gone, that wait for more or for less."""

    new: tuple[str, ...]
    gone: tuple[str, ...]
    moved: tuple[str, ...]

    def __bool__(self) -> bool:
        return bool(self.new or self.gone or self.moved)


def difference(before: Mapping[str, tuple[str, tuple[str, ...]]], now: Iterable[Step]) -> Difference:
    """Compare a remembered plan (id → label and what it waited for) with the steps of now."""
    present = {step.id: step for step in now}
    new = tuple(step.label or name for name, step in present.items() if name not in before)
    gone = tuple(label or name for name, (label, _) in before.items() if name not in present)
    moved = tuple(step.label or name for name, step in present.items()
                  if name in before and {one for one in before[name][1] if one in present}
                  != {one for one in step.after if one in before})
    return Difference(new, gone, moved)


def short_of(needed: Mapping[str, int], at_hand: Mapping[str, int]) -> dict[str, int]:
    """Pieces that a stack had when it came off and that are not at hand to go back."""
    return {name: count - at_hand.get(name, 0) for name, count in needed.items() if at_hand.get(name, 0) < count}


def bag_fault(bag: str, piece: str, counted: int, expected: int, of: str) -> str:
    """What is wrong with what lies in the bag of something that goes on after the count; empty if nothing is."""
    return "" if counted == expected else f"{bag}: {counted} {piece} counted, {expected} belong there for {of}."


def differing(one: Mapping[str, int], other: Mapping[str, int]) -> list[str]:
    """Classes of which two counts have different figures."""
    return [name for name in dict.fromkeys((*one, *other)) if one.get(name, 0) != other.get(name, 0)]


def counts_whole(what: str, units: int) -> bool:
    """Whether a count is of the whole job: the last one is, and every one where there is but one sub-assembly."""
    return what == "CT_final" or units < 2


def count_label(of: str, cover: str = "", *, last: bool = False) -> str:
    """What a count says on the way back, on its own page and in the history: of what it is; `cover` is what closes after it."""
    when = f", before {cover} closes" if cover else ", at the end" if last else ""
    return f"Count all hardware by type, {of}{when}"


def cavity_label(cavity: str, closing: str) -> str:
    """What the count of a cavity says; `closing` is what goes on after it, "" if nothing does."""
    return f"Count and look: {cavity}" + (f", before {closing} closes it" if closing else "")


def count_faults(left: Mapping[str, int], open_by_ledger: Mapping[str, int]) -> tuple[str, ...]:
    """What a count at a closure shows: every class must be at zero in the ledger and in the tray."""
    faults = []
    for name in dict.fromkeys((*open_by_ledger, *left)):
        tray, book = left.get(name, 0), open_by_ledger.get(name, 0)
        if book > 0:
            faults.append(f"{name}: {book} not accounted for" + (f", {tray} in the tray." if tray else "."))
        elif book < 0:
            faults.append(f"{name}: {-book} more went back than came off or were issued.")
        elif tray > 0:
            faults.append(f"{name}: {tray} left in the tray, but the ledger has all fitted. Find where it is missing.")
    return tuple(faults)
