"""What is asked before an uncollected amp may be dealt with: dated data in this folder, one file a jurisdiction.

They are not legal advice and dispose of nothing. The shop checks them against its own current law first; every notice keeps
the rule under which it was sent, its source, how that was read and the day it was checked.
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from app.handover.rules import Fate, Recipient, Waiting

FOLDER = Path(__file__).parent
PLAIN = "plain"
CERTAIN = ("seen", "common practice")  # read in its source, or the shop's own rule


@dataclass(frozen=True)
class Rule:
    """For goods worth less than `below` (whole units of the shop's money; None: any worth).

    `unreachable_days`: how long it is waited where nobody can be reached. `to`: who must get a notice. `fates`: what may become of
    the goods; empty for any. `advert`: what must be advertised, and where. `keep_months`: how long the record of a disposal is
    kept; 0 where none was read. `read`: how the source was read.
    """

    id: str
    below: int | None
    words: str
    notices: int
    days: int
    source: str
    read: str
    address: str = ""
    unreachable_days: int | None = None
    to: tuple[Recipient, ...] = ()
    fates: tuple[Fate, ...] = ()
    advert: str = ""
    keep_months: int = 0
    court_first: bool = False
    in_writing: bool = True

    @property
    def waiting(self) -> Waiting:
        return Waiting(self.notices, self.days, self.to)

    @property
    def unconfirmed(self) -> bool:
        """Nobody read it in the text that it comes from."""
        return self.read not in CERTAIN


@dataclass(frozen=True)
class Rules:
    """The rules of one jurisdiction as they stood on the day they were checked.

    `no_lien_above_estimate`: nothing is owed with a lien where more is charged than was agreed. `sign`: the words of a sign that
    must hang in the shop.
    """

    id: str
    title: str
    checked: date
    caution: str
    content: tuple[str, ...]
    rules: tuple[Rule, ...]
    no_lien_above_estimate: bool = False
    sign: str = ""

    @property
    def banded(self) -> bool:
        """Whether the rule goes by what the goods are worth."""
        return len(self.rules) > 1

    def for_worth(self, worth: float | None) -> Rule:
        """The rule for goods of this worth, whole units; the strictest where nobody has put a worth on them."""
        if worth is None:
            return self.rules[-1]
        return next((one for one in self.rules if one.below is None or worth < one.below), self.rules[-1])


@functools.cache
def known() -> dict[str, Rules]:
    """Every set there is, by its id."""
    read = (tomllib.loads(path.read_text("utf-8")) for path in sorted(FOLDER.glob("*.toml")))
    return {one["id"]: _rules(one) for one in read}


def for_jurisdiction(jurisdiction: str) -> Rules:
    """The set for this jurisdiction; the plain one, which names no law, where there is none."""
    return known().get(jurisdiction.strip().lower(), known()[PLAIN])


def _rules(given: Mapping[str, Any]) -> Rules:
    return Rules(given["id"], given["title"], given["checked"], given["caution"], tuple(given["content"]),
                 tuple(_rule(one) for one in given["rule"]), given.get("no_lien_above_estimate", False), given.get("sign", ""))


def _rule(given: Mapping[str, Any]) -> Rule:
    lists = {"to": tuple(map(Recipient, given.get("to", ()))), "fates": tuple(map(Fate, given.get("fates", ())))}
    return Rule(**{"below": None, **given, **lists})
