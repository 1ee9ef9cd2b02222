"""Where a run stands: what of it still counts, what comes next, and what an abort takes back. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.measuring.rules import Verdict
from app.powerup.rules.items import Amp, Item, Sort
from app.powerup.rules.steps import STEPS, Step


class Go(StrEnum):
    """What an item or a step has come to."""

    GO = "go"
    MEMORY = "within, limits from memory"
    UNCONFIRMED = "within, limits unconfirmed"
    ABORT = "abort"
    DOUBT = "in doubt"
    NOT_JUDGED = "not judged"
    OPEN = "open"

    @property
    def sign(self) -> str:
        """The shape it is drawn with."""
        return _SIGNS.get(self, "none")

    @property
    def passes(self) -> bool:
        """Whether a band was met, whatever that band rests on."""
        return self in _BY_STRENGTH


# A limit that nobody compared with its document is never green; the weakest of a step's limits speaks.
_BY_STRENGTH = (Go.UNCONFIRMED, Go.MEMORY, Go.GO)
_SIGNS = {Go.GO: "pass", Go.ABORT: "fail", Go.DOUBT: "doubt", Go.MEMORY: "doubt", Go.UNCONFIRMED: "doubt"}


_FROM = {Verdict.PASS: Go.GO, Verdict.FAIL: Go.ABORT, Verdict.UNDECIDED: Go.DOUBT, Verdict.NOT_JUDGED: Go.NOT_JUDGED}


def go_of(verdict: Verdict, *, from_memory: bool = False) -> Go:
    """A reading in its band is a go, and says if that is from memory; outside it aborts; too close, or without a band, neither."""
    found = _FROM[verdict]
    return Go.MEMORY if found is Go.GO and from_memory else found


@dataclass(frozen=True)
class Entered:
    """One entry of a run: which item of which step, what it came to. `left`: left unjudged by word."""

    id: int
    step: int
    item: str
    go: Go
    left: bool = False


@dataclass(frozen=True)
class Halt:
    """An abort: at which step, after which entry, whether its finding is decided, and from where it was resumed (None: not yet)."""

    step: int
    last_entry: int
    decided: bool
    resumed_from: int | None


def standing(entries: Iterable[Entered], halts: Sequence[Halt]) -> dict[tuple[int, str], Entered]:
    """The entry that counts for each item: the last, unless an abort has taken its step back since."""
    found: dict[tuple[int, str], Entered] = {}
    for one in sorted(entries, key=lambda entry: entry.id):
        if any(halt.resumed_from is not None and one.id <= halt.last_entry and one.step >= halt.resumed_from for halt in halts):
            continue
        found[one.step, one.item] = one
    return found


def counts_for(item: Item, entry: Entered | None) -> Go:
    """What an item has come to. What guards a life is never left unjudged."""
    if entry is None:
        return Go.OPEN
    if entry.go is Go.NOT_JUDGED:
        return Go.NOT_JUDGED if (entry.left or item.kept) and not item.guards else Go.OPEN
    return entry.go


@dataclass(frozen=True)
class StepState:
    """A step with what each of its items has come to."""

    step: Step
    items: tuple[tuple[Item, Go], ...]

    @property
    def go(self) -> Go:
        """Abort above all, then doubt, then open; go only where something was shown to be, and nothing less is among them.

        What is only kept beside another item counts where a limit made something of it.
        """
        found = [go for item, go in self.items if not (item.kept and go in (Go.OPEN, Go.NOT_JUDGED))]
        return next((word for word in (Go.ABORT, Go.DOUBT, Go.OPEN, Go.NOT_JUDGED, *_BY_STRENGTH) if word in found), Go.NOT_JUDGED)

    @property
    def is_done(self) -> bool:
        return self.go.passes or self.go is Go.NOT_JUDGED


def course(amp: Amp, entries: Iterable[Entered], halts: Sequence[Halt]) -> tuple[StepState, ...]:
    """Every step of a run with what it has come to."""
    found: Mapping[tuple[int, str], Entered] = standing(entries, halts)
    return tuple(StepState(step, tuple((item, counts_for(item, found.get((step.number, item.key)))) for item in step.items(amp)))
                 for step in STEPS)


def why_waits(states: Sequence[StepState], halts: Sequence[Halt], number: int) -> str:
    """What has to come before this step, in a sentence; empty if it may be done now."""
    if (halt := next((one for one in halts if one.resumed_from is None), None)) is not None:
        if not halt.decided:
            return f"Step {halt.step} was aborted. Decide on its finding first."
        return f"Step {halt.step} was aborted. Enter what you expect now, and resume the run first."
    before = next((state for state in states if state.step.number < number and not state.is_done), None)
    if before is None:
        return ""
    if before.go is Go.ABORT:
        return f"Step {before.step.number} has a reading outside its band. Abort the run there first."
    return f"Step {before.step.number} comes first: {before.step.title}."


def current(states: Sequence[StepState]) -> StepState | None:
    """The first step that is not done; None when all are."""
    return next((state for state in states if not state.is_done), None)


def next_item(state: StepState) -> Item | None:
    """What of a step is to be done next; None when each has come to something that lets it go on."""
    return next((item for item, go in state.items if go in (Go.OPEN, Go.DOUBT)), None)


def resumes_from(step: int, *, hands_in: bool) -> int:
    """Where a run goes on after an abort: at the step itself, or from the first where hands were in the amp.

    The first looks for what hands leave behind: strands, solder, tools.
    """
    return 0 if hands_in else step


def why_not_first(state: StepState, item: Item) -> str:
    """What is looked at before the amp goes on power for this item, in a sentence; empty once it was."""
    first = next((one for one, go in state.items if one.first and one is not item and go is not Go.GO), None)
    return f"First: {first.title[:1].lower()}{first.title[1:]}." if first else ""


def why_not_left(item: Item) -> str:
    """Why an item may not be left unjudged; empty if it may."""
    if item.sort in (Sort.BIAS, Sort.DISCHARGE, Sort.TEST) or item.guards:
        return f"“{item.title}” guards a life: it needs a reading in a band, or the run stops here."
    return ""
