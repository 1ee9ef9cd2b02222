"""One spec of fields for a record: what is asked, within which limits, and how the journal says it. Pure.

The facts of a record are a frozen dataclass, and each of its fields carries how it is asked:

    @dataclass(frozen=True)
    class BoardFacts:
        name: str = asked(Text("Name", "Give the board a name.", longest=60))
        meter: str = asked(Text("Meter", longest=120), "")

That one line gives the form its field (`spec_forms.asks`), the service its value and the journal its words. A field without
`asked` belongs to the facts alone.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from dataclasses import KW_ONLY, MISSING, dataclass, replace
from enum import Enum
from typing import Any, TypeVar

T = TypeVar("T")
ASKED = "asked"


@dataclass(frozen=True)
class Asked:
    """How one field is asked.

    `needed`: what to enter; "": it may stay empty; None: neither, the service or the gate says what is missing.
    `journal`: its name there; "": as the field is called; None: it is not told by itself. `said`: how the journal says a value.
    `start`: what stands in an empty form.
    """

    label: str
    needed: str | None = ""
    _: KW_ONLY
    journal: str | None = ""
    said: Callable[[Any], Any] | None = None
    start: Any = None

    def tell(self, value: Any) -> Any:
        """The value as the journal keeps it: words, numbers, yes and no."""
        if self.said is not None:
            return self.said(value)
        return "" if value is None else getattr(value, "value", value)


@dataclass(frozen=True)
class Text(Asked):
    """Words, of at most `longest` signs. `sort`: "line", "lines", "phone", "email", or "hidden" where another page fills it."""

    _: KW_ONLY
    longest: int = 0
    sort: str = "line"

    def tidy(self, text: str) -> str:
        """As it is kept: a line with its white space folded, several lines without what stands around them."""
        return text.strip() if self.sort == "lines" else " ".join(text.split())


@dataclass(frozen=True)
class Choice(Asked):
    """One of a list: value → word. `blank` is the word of choosing none, where the list itself offers that.

    `drop_down`: a list that opens, instead of chips. `later`: the form fills the list for each page, and `reads` turns what was
    chosen into a value; `any_text`: what is not on the list will do as well, the form checks it.
    """

    _: KW_ONLY
    words: Mapping[Any, str] = dataclasses.field(default_factory=dict)
    blank: str = ""
    blank_key: str = ""
    drop_down: bool = False
    later: bool = False
    reads: Callable[[str], Any] | None = None
    any_text: bool = False

    def tell(self, value: Any) -> Any:
        if self.said is None and self.words:
            return "" if value is None else self.words[value]
        return super().tell(value)


@dataclass(frozen=True)
class Several(Asked):
    """Any of a list: value → word. The record keeps what `join` makes of those that were chosen. `later` as with one of them."""

    _: KW_ONLY
    words: Mapping[Any, str] = dataclasses.field(default_factory=dict)
    later: bool = False
    join: Callable[[Iterable[Any]], Any] = tuple
    split: Callable[[Any], Iterable[Any]] = list


@dataclass(frozen=True)
class Parsed(Asked):
    """Words that `read` makes into a value (BadInput if it cannot) and `show` says again. `lines`: one thing a line."""

    _: KW_ONLY
    read: Callable[[str], Any] = str
    show: Callable[[Any], str] = str
    longest: int = 0
    lines: bool = False


@dataclass(frozen=True)
class Fed(Asked):
    """A value without a field of its own name: other fields of the form make it, the journal tells it all the same."""


@dataclass(frozen=True)
class Flag(Asked):
    """Yes or no."""


@dataclass(frozen=True)
class Number(Asked):
    """A number from `low` to `high`; `wrong` says what to enter instead. `unit` set: in bench notation, kept in that unit."""

    _: KW_ONLY
    low: float | None = None
    high: float | None = None
    wrong: str = ""
    whole: bool = False
    unit: str | None = None


@dataclass(frozen=True)
class InUnit(Asked):
    """A value in bench notation whose unit is that of what is chosen in the field `unit_of`; `say` says it with that unit."""

    _: KW_ONLY
    unit_of: str = ""
    say: Callable[[float | None, str], str] = lambda value, unit: f"{value} {unit}"
    longest: int = 20


@dataclass(frozen=True)
class Money(Asked):
    """An amount, kept in minor units."""


@dataclass(frozen=True)
class Day(Asked):
    """A day."""

    def tell(self, value: Any) -> Any:
        return value if self.said is None else self.said(value)


@dataclass(frozen=True)
class Files(Asked):
    """Files that come along. They are prepared before the facts are read, and are none of them."""


def asked(how: Asked, default: Any = MISSING) -> Any:
    """A field of a record's facts, and how it is asked."""
    if default is MISSING:
        return dataclasses.field(metadata={ASKED: how})
    return dataclasses.field(default=default, metadata={ASKED: how})


def spec_of(facts: type[Any] | Any) -> dict[str, Asked]:
    """Each field that is asked and how, in their order."""
    return {field.name: field.metadata[ASKED] for field in dataclasses.fields(facts) if ASKED in field.metadata}


def values(kinds: Iterable[Enum]) -> dict[Any, str]:
    """The members of a closed list, each said as its value."""
    return {kind: str(kind.value) for kind in kinds}


def words(kinds: Iterable[Any]) -> dict[Any, str]:
    """The members of a closed list, each said as its own word."""
    return {kind: kind.word for kind in kinds}


def tidied(facts: T) -> T:
    """The same with every text as it is kept."""
    found = {name: how.tidy(getattr(facts, name)) for name, how in spec_of(facts).items() if isinstance(how, Text)}
    return replace(facts, **found)  # type: ignore[type-var]


def columns(facts: Any) -> dict[str, Any]:
    """What was asked, as the columns of the record's own name keep it."""
    return {name: how.tidy(getattr(facts, name)) if isinstance(how, Text) else getattr(facts, name)
            for name, how in spec_of(facts).items()}


def journal_facts(record: Any, facts: type[Any]) -> dict[str, Any]:
    """What the journal says of a record, or of facts that are yet to be written into one."""
    return {how.journal or name.replace("_", " "): _told(record, name, how)
            for name, how in spec_of(facts).items() if how.journal is not None}


def _told(record: Any, name: str, how: Asked) -> Any:
    value = getattr(record, name)
    return how.say(value, getattr(record, how.unit_of).unit) if isinstance(how, InUnit) else how.tell(value)
