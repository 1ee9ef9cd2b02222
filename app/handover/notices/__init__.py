"""What is asked before an uncollected amp may be dealt with: dated data in this folder, one file a jurisdiction.

They are not legal advice and dispose of nothing. The shop checks them against its own current law first; every notice keeps
the rule under which it was sent, its source and the day it was checked.
"""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from app.handover.rules import Waiting

FOLDER = Path(__file__).parent
PLAIN = "plain"


@dataclass(frozen=True)
class Rule:
    """For goods worth less than `below` (whole units of the shop's money; None: any worth)."""

    id: str
    below: int | None
    words: str
    notices: int
    days: int
    source: str
    read: str

    @property
    def waiting(self) -> Waiting:
        return Waiting(self.notices, self.days)


@dataclass(frozen=True)
class Rules:
    """The rules of one jurisdiction as they stood on the day they were checked."""

    id: str
    title: str
    checked: date
    caution: str
    content: tuple[str, ...]
    rules: tuple[Rule, ...]

    def for_worth(self, worth: float | None) -> Rule:
        """The rule for goods of this worth, whole units; the strictest where nobody has put a worth on them."""
        if worth is None:
            return self.rules[-1]
        return next((one for one in self.rules if one.below is None or worth < one.below), self.rules[-1])


@functools.cache
def known() -> dict[str, Rules]:
    """Every set there is, by its id."""
    read = (tomllib.loads(path.read_text("utf-8")) for path in sorted(FOLDER.glob("*.toml")))
    return {one["id"]: Rules(one["id"], one["title"], one["checked"], one["caution"], tuple(one["content"]),
                             tuple(Rule(below=rule.pop("below", None), **rule) for rule in one["rule"])) for one in read}


def for_jurisdiction(jurisdiction: str) -> Rules:
    """The set for this jurisdiction; the plain one, which names no law, where there is none."""
    return known().get(jurisdiction.strip().lower(), known()[PLAIN])
