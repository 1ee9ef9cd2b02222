"""The closed lists of the hours, and the kinds of work a shop begins with. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

NO_STEP = ""


class Role(StrEnum):
    """What a task is, seen from the order."""

    DIAGNOSIS = "diagnosis"
    STRIP_DOWN = "strip-down"
    ITEM = "agreed item"
    WAY_BACK = "way back"
    OWN = "task of its own"

    @property
    def word(self) -> str:
        return self.value.capitalize()

    @property
    def before_the_quote(self) -> bool:
        """Whether it is paid for by what was agreed for diagnosis, not by the quote."""
        return self in (Role.DIAGNOSIS, Role.STRIP_DOWN)


class Called(StrEnum):
    """How a call about the hours went."""

    MORE = "agreed to more"
    STAY = "stop at the limit"
    NOT_REACHED = "not reached"

    @property
    def word(self) -> str:
        return {"agreed to more": "Agreed to a higher limit", "stop at the limit": "Reached: the limit stays",
                "not reached": "Not reached"}[self.value]


@dataclass(frozen=True)
class KindFacts:
    """A kind of work of the shop's list, and the areas of findings that propose it."""

    name: str
    areas: tuple[str, ...] = ()


# What a shop begins with; it changes the list itself. Common practice, no source.
SHIPPED = (
    KindFacts("diagnosis"), KindFacts("strip-down"), KindFacts("reassembly"), KindFacts("safety test"),
    KindFacts("mains and earth", ("mains", "earth")), KindFacts("supply", ("HT supply", "bias")),
    KindFacts("output stage", ("output stage",)), KindFacts("valve bases", ("valve bases",)), KindFacts("boards", ("boards",)),
    KindFacts("wiring", ("wiring",)), KindFacts("controls and jacks", ("controls", "jack sockets")),
    KindFacts("speaker and cabinet", ("speaker", "cabinet")), KindFacts("modification"), KindFacts("other"),
)
OF_ROLE = {Role.DIAGNOSIS: "diagnosis", Role.STRIP_DOWN: "strip-down", Role.WAY_BACK: "reassembly"}
OTHER = "other"


@dataclass(frozen=True)
class WorkKey:
    """Which piece of work a form means: 'diagnosis', 'strip-down', 'way-back', 'item-12' (of the quote) or 'task-7'."""

    role: Role
    number: int = 0

    @property
    def text(self) -> str:
        return {Role.ITEM: f"item-{self.number}", Role.OWN: f"task-{self.number}", Role.DIAGNOSIS: "diagnosis",
                Role.STRIP_DOWN: "strip-down", Role.WAY_BACK: "way-back"}[self.role]


_NUMBERED = re.compile(r"(item|task)-([1-9]\d{0,8})")
_PLAIN = {"diagnosis": Role.DIAGNOSIS, "strip-down": Role.STRIP_DOWN, "way-back": Role.WAY_BACK}


def parse_key(text: str) -> WorkKey | None:
    """The piece of work that a form names; None if it names none."""
    if text in _PLAIN:
        return WorkKey(_PLAIN[text])
    found = _NUMBERED.fullmatch(text)
    return WorkKey(Role.ITEM if found[1] == "item" else Role.OWN, int(found[2])) if found else None
