"""Steps of a test, its result, the soak run, and what opens a chassis again. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from app.measuring.insulation import REDUCED_V, TESTERS, why_volts_refused
from app.measuring.rules import Kind, Quantity, Verdict, say


class StepKind(StrEnum):
    """What a step of a safety test looks at or measures."""

    VISUAL = "visual"
    ISOLATION = "isolation from mains"  # whether a mains pin joins chassis or signal earth
    FUSE = "fuse"
    POLARITY = "polarity"
    BOND = "protective earth"
    INSULATION = "insulation"
    LEAKAGE = "leakage current"
    TOUCH = "touch current"
    FUNCTIONAL = "functional"

    @property
    def is_seen(self) -> bool:
        """Looked at and answered yes or no; the others are measured."""
        return self in (StepKind.VISUAL, StepKind.ISOLATION, StepKind.FUSE, StepKind.POLARITY, StepKind.FUNCTIONAL)

    @property
    def is_unplugged(self) -> bool:
        """Looked at before the amp is powered; its functions are tried last, once earth and insulation have passed."""
        return self.is_seen and self is not StepKind.FUNCTIONAL


# Which instruments can do what a step asks for. A multimeter puts milliamperes through an earth and a few volts on an
# insulation: it proves neither, and it cannot stand in for a body in a leakage current.
FITTING: dict[StepKind, tuple[Kind, ...]] = {
    StepKind.BOND: (Kind.BOND_TESTER, Kind.SAFETY_TESTER),
    StepKind.INSULATION: TESTERS,
    StepKind.LEAKAGE: (Kind.LEAKAGE_TESTER, Kind.SAFETY_TESTER),
    StepKind.TOUCH: (Kind.LEAKAGE_TESTER, Kind.SAFETY_TESTER),
}
# What a step is done with, besides the instrument: the tester's current through the earth, its volts on the insulation.
LEVELS: dict[StepKind, Quantity] = {StepKind.BOND: Quantity.AMP_DC, StepKind.INSULATION: Quantity.VOLT_DC}


def needs(kind: StepKind) -> str:
    """The kinds of instrument that a step asks for, in words."""
    return " or ".join(f"an {one.value}" if one.value[0] in "aeio" else f"a {one.value}" for one in FITTING[kind])


def why_level_refused(kind: StepKind, least: float | None, level: float | None, words: str, conducts: str = "") -> str:
    """Why the tester's current (A) or volts (V) prove nothing at this step; empty if they do.

    `least` is what the limit asks for, None where it names nothing. Insulation: `conducts` is what is fitted between mains and
    metal that asks for 250 V; where nothing is known to be, 250 V need words that say what somebody found there.
    """
    if kind is StepKind.INSULATION:
        if not conducts and level is not None and least is not None and REDUCED_V <= level < least:
            return "" if words.strip() else f"Below {least:g} V: enter in the note what would conduct at {least:g} V."
        return why_volts_refused(level, ordinary=least, conducts=conducts)
    if kind is not StepKind.BOND:
        return ""
    if level is None or level <= 0:
        return "Enter the tester’s test current."
    if least is None or level >= least:
        return ""
    return f"{say(level, 'A')} is less than the {say(least, 'A')} that this limit asks for."


class Applies(StrEnum):
    """To which protection class (IEC 61140) a step belongs."""

    ANY = "any class"
    I = "class I"  # noqa: E741 - the standard's own name
    II = "class II"

    def covers(self, protection: str) -> bool:
        return self is Applies.ANY or self.value == f"class {protection}"


class Mark(StrEnum):
    """How well a limit is known."""

    SEEN = "S"
    MEMORY = "M"
    SHOP = "shop"
    SUPERSEDED = "superseded"  # seen, in an edition that a newer one has replaced
    PRACTICE = "practice"  # looked at because the trade does: no limit of anybody's

    @property
    def word(self) -> str:
        return {"S": "seen in its source", "M": "from memory", "shop": "the shop's own",
                "superseded": "seen in an edition that was replaced", "practice": "common practice"}[self.value]

    @property
    def needs_owner(self) -> bool:
        """It passes nothing until the owner has confirmed it with edition and date."""
        return self not in (Mark.SEEN, Mark.PRACTICE)


class Result(StrEnum):
    """What a completed test came to."""

    PASS = "pass"  # noqa: S105 - a result
    FAIL = "fail"
    INCOMPLETE = "incomplete"

    @property
    def sign(self) -> str:
        return {"pass": "pass", "fail": "fail", "incomplete": "doubt"}[self.value]


@dataclass(frozen=True)
class StepVerdict:
    """How one step stands when the result is computed: `verdict` None if it was not done."""

    title: str
    verdict: Verdict | None


def why_not_yet(kind: StepKind, before: Iterable[tuple[StepKind, str, Verdict | None]]) -> str:
    """Why a step waits: mains goes on an amp only after its earth and its insulation passed, 500 V only after its earth did.

    `before` are the other steps of the test: kind, title and verdict. Nothing further is done once one has failed.
    Empty if it may be done.
    """
    before = tuple(before)
    failed = next((title for _, title, verdict in before if verdict is Verdict.FAIL), "")
    if failed:
        return f"{failed}: failed. Complete this test as failed, repair the amp, then test again."
    first: tuple[StepKind, ...] = ()
    if kind is StepKind.INSULATION:
        first = (StepKind.BOND,)
    elif not kind.is_unplugged and kind is not StepKind.BOND:
        first = (StepKind.BOND, StepKind.INSULATION)
    waits = next((title for other, title, verdict in before if other in first and verdict is not Verdict.PASS), "")
    return f"{waits} has not passed yet: do it first. Until then this step puts volts where they could hurt." if waits else ""


@dataclass(frozen=True)
class TestResult:
    """The result of a test and, unless it passed, every reason."""

    result: Result
    reasons: tuple[str, ...]


def result_of(steps: Iterable[StepVerdict], *, unconfirmed: bool) -> TestResult:
    """Fail if any step failed; pass only if every step passed under confirmed limits; incomplete otherwise.

    A reading in doubt does not pass. A test without steps passes nothing, nor does one under limits from memory.
    """
    steps = tuple(steps)
    failed = [f"{step.title}: failed." for step in steps if step.verdict is Verdict.FAIL]
    unsettled = [why for step in steps if (why := _lacks(step))] if steps else ["The profile has no step for this amp."]
    if unconfirmed:
        unsettled.append("The owner had not confirmed the profile’s limits when the test began.")
    if failed:
        return TestResult(Result.FAIL, tuple(failed + unsettled))
    return TestResult(Result.INCOMPLETE if unsettled else Result.PASS, tuple(unsettled))


def _lacks(one: StepVerdict) -> str:
    if one.verdict is None:
        return f"{one.title}: not done."
    if one.verdict is Verdict.UNDECIDED:
        return f"{one.title}: inconclusive (counts as not passed)."
    return f"{one.title}: not judged." if one.verdict is Verdict.NOT_JUDGED else ""


@dataclass(frozen=True)
class Soaked:
    """A soak run that has ended."""

    started_at: datetime
    ended_at: datetime
    needed_minutes: int
    symptom_shown: bool
    carried_minutes: int = 0

    @property
    def minutes(self) -> int:
        """Its own and those carried on from runs that were interrupted."""
        return self.carried_minutes + int((self.ended_at - self.started_at).total_seconds() // 60)

    @property
    def why_not(self) -> str:
        """Why it does not count; empty if it does."""
        if self.symptom_shown:
            return "The symptom showed during the soak run."
        if self.minutes < self.needed_minutes:
            return f"It ran for {self.minutes} of {self.needed_minutes} minutes."
        return ""
