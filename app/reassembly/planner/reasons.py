"""Why one step waits for another: the rule of the trade behind it, the records it comes from, and how sure it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum


class Strength(IntEnum):
    """Which of two reasons gives way when they contradict each other: the smaller."""

    HABIT = 1  # how it is usually done; gives way to everything without a word
    USUAL = 2  # follows from what a thing is
    RECORD = 3  # somebody wrote it down
    SAFETY = 4  # somebody can be hurt
    NATURE = 5  # it cannot be otherwise


@dataclass(frozen=True)
class Rule:
    """A rule of the way back: its number among the ten, its words, its source ("" is common practice, no source)."""

    number: int
    words: str
    source: str = ""


# From memory of published guides, unless a line says otherwise.
_STAGES = "bench sequence that practitioners publish: no valves, rectifier, small valves, output valves"
_COUNTS = "surgical counts and aviation foreign-object guides: count and look before a cavity closes"
RULES: Mapping[str, Rule] = {
    "earth-first": Rule(1, "the protective earth is made and measured before any mains wire is joined"),
    "earth-again": Rule(1, "metal that was open is bonded again only when it is measured again"),
    "proof-after": Rule(2, "a measurement waits for everything that it proves"),
    "proof-before": Rule(2, "a measurement comes before what would hide or falsify it"),
    "isolation": Rule(2, "isolation is measured before a 0 V lead would hide the fault"),
    "fix-before-solder": Rule(3, "fix mechanically before soldering"),
    "body-before-leads": Rule(3, "a body is fixed for good before its own leads are joined"),
    "hidden-side-first": Rule(3, "a joint on the hidden side is made and looked at before the board goes down"),
    "board-filled-first": Rule(3, "a board is filled before it is wired in"),
    "base-before-valve": Rule(4, "a valve goes into a base that is fixed"),
    "wired-before-valve": Rule(4, "no output valve in a base that is not wired, or without its load made off"),
    "proven-before-valve": Rule(4, "no output valve before its bias, the HT and the insulation are proven", _STAGES),
    "rectifier": Rule(4, "a rectifier valve and an HT fuse go in after the bias is proven, before the HT is", _STAGES),
    "insulation": Rule(5, "insulation is tested when every mains wire is joined, before power", _STAGES),
    "power-order": Rule(5, "power comes in stages: no valves, bias, HT, small valves, output valves", _STAGES),
    "looked-before-power": Rule(5, "no power before every base and hidden side is looked at, its ends counted", _STAGES),
    "nothing-loose": Rule(5, "no power while an end is still loose"),
    "every-end-in": Rule(6, "a joint is made once, when every end at that pin is in"),
    "heater-first": Rule(6, "the heater pair lies nearest the metal, so it goes in first"),
    "clamped-end": Rule(6, "what is clamped lies in before the clamp is tight"),
    "on-its-host": Rule(6, "an end goes to something that is there"),
    "align": Rule(7, "align everything finger tight, then tighten"),
    "nuts-before-pillars": Rule(7, "the nuts of the pots are tight before the pillars of their board"),
    "fixings": Rule(7, "fixings go through what they hold, and are tight when all of them are in"),
    "count-after-work": Rule(8, "a cavity is counted when the work in it is finished", _COUNTS),
    "count-before-closure": Rule(8, "a cavity is counted and looked into before it closes", _COUNTS),
    "fate": Rule(9, "what is on hold waits for a decision"),
    "under": Rule(10, "what lay under goes back first"),
    "stack": Rule(10, "a stack goes on in the order in which it lay"),
    "seated-on": Rule(10, "it sits on or in something that must be there first"),
    "own-order": Rule(10, "a thing is prepared, put in, brought finger tight, tightened, finished"),
}


@dataclass(frozen=True)
class Reason:
    """Why a step waits for `before`: the code of the rule, the marks of the records behind it, a whole sentence."""

    before: str
    rule: str
    records: tuple[str, ...]
    words: str
    strength: Strength

    @property
    def number(self) -> int:
        """The rule's number among the ten."""
        return RULES[self.rule].number


def sentence(subject: str, awaited: str, rule: str) -> str:
    """'V4 waits for “bias at pin 5”: no output valve before …' in words for a screen."""
    return f"{subject} waits for {awaited}: {RULES[rule].words}."
