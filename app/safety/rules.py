"""Steps of a test, its result, the soak run, and what opens a chassis again. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from app.measuring.rules import Verdict


class StepKind(StrEnum):
    """What a step of a safety test looks at or measures."""

    VISUAL = "visual"
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
        return self in (StepKind.VISUAL, StepKind.FUSE, StepKind.POLARITY, StepKind.FUNCTIONAL)

    @property
    def is_unplugged(self) -> bool:
        """Looked at before the amp is powered; its functions are tried last, once earth and insulation have passed."""
        return self.is_seen and self is not StepKind.FUNCTIONAL


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

    @property
    def word(self) -> str:
        return {"S": "seen in its source", "M": "from memory", "shop": "the shop's own"}[self.value]

    @property
    def needs_owner(self) -> bool:
        """It passes nothing until the owner has confirmed it with edition and date."""
        return self is not Mark.SEEN


class Result(StrEnum):
    """What a completed test came to."""

    PASS = "pass"  # noqa: S105 - a result
    FAIL = "fail"
    INCOMPLETE = "incomplete"

    @property
    def sign(self) -> str:
        return {"pass": "pass", "fail": "fail", "incomplete": "doubt"}[self.value]


@dataclass(frozen=True)
class Stood:
    """How one step stands when the result is computed: `verdict` None if it was not done."""

    title: str
    verdict: Verdict | None


@dataclass(frozen=True)
class Came:
    """The result of a test and, unless it passed, every reason."""

    result: Result
    reasons: tuple[str, ...]


def result_of(steps: Iterable[Stood], *, unconfirmed: bool) -> Came:
    """Fail if any step failed; pass only if every step passed under confirmed limits; incomplete otherwise.

    A reading in doubt does not pass. A test without steps passes nothing, nor does one under limits from memory.
    """
    steps = tuple(steps)
    failed = [f"{one.title}: failed." for one in steps if one.verdict is Verdict.FAIL]
    lacking = [why for one in steps if (why := _lacks(one))] if steps else ["The profile has no step for this amp."]
    if unconfirmed:
        lacking.append("The owner had not confirmed the profile’s limits when the test began.")
    if failed:
        return Came(Result.FAIL, tuple(failed + lacking))
    return Came(Result.INCOMPLETE if lacking else Result.PASS, tuple(lacking))


def _lacks(one: Stood) -> str:
    if one.verdict is None:
        return f"{one.title}: not done."
    if one.verdict is Verdict.UNDECIDED:
        return f"{one.title}: in doubt, which is no pass."
    return f"{one.title}: not judged." if one.verdict is Verdict.NOT_JUDGED else ""


@dataclass(frozen=True)
class Soaked:
    """A soak run that has ended."""

    started_at: datetime
    ended_at: datetime
    needed_minutes: int
    symptom_shown: bool

    @property
    def minutes(self) -> int:
        return int((self.ended_at - self.started_at).total_seconds() // 60)

    @property
    def why_not(self) -> str:
        """Why it does not count; empty if it does."""
        if self.symptom_shown:
            return "The symptom showed during the soak run."
        if self.minutes < self.needed_minutes:
            return f"It ran for {self.minutes} of {self.needed_minutes} minutes."
        return ""
