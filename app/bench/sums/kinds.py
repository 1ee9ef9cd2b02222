"""What a sum is made of: the fields typed, the answer given, and where it comes from."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from app.bench.sums.pictures.drawing import Picture
from app.electrics import ElectricsError, show
from app.electrics.limits import Limit
from app.electrics.sourced import Status

Value = float | int | str | None
Kind = Literal["quantity", "plain", "percent", "count", "choice", "chips", "words"]
VerdictKind = Literal["pass", "doubt", "fail", "none"]
MARK_WORDS: dict[Status, str] = {"S": "seen", "M": "from memory", "C": "computed", "T": "typed here"}
_ELECTRIC = ("ohm", "V", "A", "F", "H", "W", "VA", "s", "Hz", "J")
_GROUND = re.compile(r"\bground\b")
_PERCENT = re.compile(r"(?<=[0-9])%")


@dataclass(frozen=True)
class Field:
    """One thing to enter. `covers`: further argument names that a refusal may blame and that stand for this field.

    The default is an example, to be replaced by what the bench knows, unless `assumed`: then it is the usual figure. `only`: the
    choice and its value with which the field is in use at all.
    `fold`: the words over a folded part of the form in which fields of the same fold stand.
    """

    name: str
    label: str
    kind: Kind
    default: str
    unit: str = ""
    hint: str = ""
    options: tuple[tuple[str, str], ...] = ()
    optional: bool = False
    covers: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    fold: str = ""
    assumed: bool = False
    only: tuple[str, str] | None = None

    @property
    def shows_example(self) -> bool:
        """Whether its default stands for a value of the amp at hand."""
        return bool(self.default) and not self.assumed and self.kind in ("quantity", "plain", "count", "words")

    @property
    def sign(self) -> str:
        """The unit as it is printed."""
        return "Ω" if self.unit == "ohm" else self.unit


def quantity(name: str, label: str, unit: str, default: str, hint: str = "", *, optional: bool = False,
             covers: tuple[str, ...] = (), assumed: bool = False, only: tuple[str, str] | None = None) -> Field:
    """A value in bench notation, kept in SI units."""
    return Field(name, label, "quantity", default, unit, hint, optional=optional, covers=covers, assumed=assumed, only=only)


def plain(name: str, label: str, default: str, unit: str, hint: str = "", *, assumed: bool = False) -> Field:
    """A number in a unit that takes no multiplier: metres of lead, degrees."""
    return Field(name, label, "plain", default, unit, hint, assumed=assumed)


def percent(name: str, label: str, default: str, hint: str = "", *, low: float = 0.0, high: float = 50.0) -> Field:
    """A share typed in per cent, kept as a fraction."""
    return Field(name, label, "percent", default, "%", hint, low=low, high=high)


def count(name: str, label: str, default: str, low: int, high: int, hint: str = "", *, unit: str = "") -> Field:
    """A whole number."""
    return Field(name, label, "count", default, unit, hint, low=low, high=high)


def choice(name: str, label: str, options: tuple[tuple[str, str], ...], default: str, hint: str = "", *,
           covers: tuple[str, ...] = (), chips: bool = False) -> Field:
    """One of a list: to open, or (chips) to tap."""
    return Field(name, label, "chips" if chips else "choice", default, "", hint, options, covers=covers)


def words(name: str, label: str, default: str, hint: str = "") -> Field:
    """Text as it stands on a part."""
    return Field(name, label, "words", default, "", hint)


class Given:
    """What was entered, by field name, each read as the kind it is."""

    def __init__(self, values: Mapping[str, Value]) -> None:
        self._values = values

    def number(self, name: str) -> float:
        """A quantity or fraction that was entered."""
        found = self._values[name]
        if not isinstance(found, int | float):
            raise TypeError(f"{name} holds no number")
        return float(found)

    def maybe(self, name: str) -> float | None:
        """The same, or None where the field was left empty."""
        return None if self._values.get(name) is None else self.number(name)

    def magnitude(self, name: str) -> float:
        """A reading of something that has no sign: ohms, current that leaks, volts across. A negative one is refused."""
        found = self.number(name)
        if found < 0.0:
            raise ElectricsError(name, found, "0 or more: a magnitude has no sign")
        return found

    def whole(self, name: str) -> int:
        """A whole number."""
        return int(self.number(name))

    def word(self, name: str) -> str:
        """A choice or words."""
        return str(self._values.get(name) or "")


@dataclass(frozen=True)
class Figure:
    """One number of the answer: SI value with its unit; "%" holds a fraction. A text stands as it is."""

    key: str
    label: str
    value: float | str
    unit: str = ""
    digits: int = 3

    @property
    def text(self) -> str:
        return tell(self.value, self.unit, self.digits)


@dataclass(frozen=True)
class Cited:
    """A source with its mark: S seen, M from memory, C computed."""

    mark: Status
    text: str

    @property
    def mark_words(self) -> str:
        return MARK_WORDS[self.mark]


@dataclass(frozen=True)
class Rating:
    """A limit as the page draws it: its sign, its word, and both values with their unit."""

    limit: Limit

    @property
    def kind(self) -> VerdictKind:
        """The sign; a limit from memory is never green."""
        if self.limit.verdict == "above":
            return "fail"
        return "doubt" if self.limit.verdict == "near" or self.limit.unconfirmed else "pass"

    @property
    def word(self) -> str:
        """The verdict in a word or three."""
        if self.limit.verdict == "above":
            return "too low" if self.limit.at_least else "above the limit"
        if self.limit.verdict == "near":
            return "near the limit"
        return "within, from memory" if self.limit.unconfirmed else "within"

    @property
    def found(self) -> str:
        return tell(self.limit.found, self.limit.unit)

    @property
    def allowed(self) -> str:
        return f"at {'least' if self.limit.at_least else 'most'} {tell(self.limit.allowed, self.limit.unit)}"


@dataclass(frozen=True)
class Answer:
    """The sentence first, then limits, figures, a verdict where there is one, notes, pictures, and what this answer cites."""

    sentence: str
    figures: tuple[Figure, ...]
    verdict: tuple[VerdictKind, str] | None = None
    notes: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    sources: tuple[Cited, ...] = ()
    cautions: tuple[str, ...] = ()
    limits: tuple[Limit, ...] = ()

    @property
    def ratings(self) -> tuple[Rating, ...]:
        """The limits as they are drawn, the one that decides first."""
        return tuple(Rating(one) for one in sorted(self.limits, key=lambda one: -one.share))


@dataclass(frozen=True)
class Sum:
    """One sum of the bench."""

    key: str
    matter: str
    title: str
    lead: str
    fields: tuple[Field, ...]
    answer: Callable[[Given], Answer]
    formula: str
    sources: tuple[Cited, ...]
    caution: str

    @property
    def folds(self) -> tuple[tuple[str, tuple[Field, ...]], ...]:
        """The folded parts of the form, each with its fields."""
        names = dict.fromkeys(field.fold for field in self.fields if field.fold)
        return tuple((name, tuple(field for field in self.fields if field.fold == name)) for name in names)

    def examples(self, typed: Mapping[str, str]) -> tuple[Field, ...]:
        """The fields that still show their example. Where choices are all there is, they are one example until one is changed."""
        used = [field for field in self.fields if field.only is None or typed.get(field.only[0]) == field.only[1]]
        own = [field for field in used if field.shows_example]
        same = tuple(field for field in own or used if typed.get(field.name) == field.default)
        return same if own or len(same) == len(used) else ()

    def field_for(self, argument: str) -> Field | None:
        """The field that a refused argument of the function stands for."""
        bare = argument.removeprefix("tolerance of ").rsplit(".", 1)[-1]
        for field in self.fields:
            if bare == field.name or bare in field.covers or argument in field.covers:
                return field
        return None


def judged(limits: tuple[Limit, ...]) -> tuple[VerdictKind, str] | None:
    """One verdict over ratings: the worst of them; a rating from memory is never alone behind a green word."""
    if not limits:
        return None
    verdicts = {one.verdict for one in limits}
    if "above" in verdicts:
        return "fail", "beyond a limit"
    if "near" in verdicts:
        return "doubt", "near a limit"
    return ("doubt", "within limits from memory") if any(one.unconfirmed for one in limits) else ("pass", "within its limits")


def unless_nothing(reading: float, verdict: tuple[VerdictKind, str]) -> tuple[VerdictKind, str]:
    """The verdict of a reading, but of one that shows nothing at all: shorted leads or a wrong range would show the same."""
    return ("doubt", "0 read: look at leads and range") if reading == 0.0 and verdict[0] == "pass" else verdict


def tell(value: float | str, unit: str = "", digits: int = 3) -> str:
    """A value as the bench writes it: '398 V', '12 %', '26.5'."""
    if isinstance(value, str):
        return value
    if unit == "%":
        return f"{_plain(value * 100, digits)} %"
    if unit in _ELECTRIC:
        return show(value, unit, digits=digits)
    return f"{_plain(value, digits)} {unit}".rstrip()


def _plain(value: float, digits: int) -> str:
    """Significant figures without an exponent up to seven places."""
    said = f"{value:.{digits}g}"
    return f"{value:.0f}" if "e" in said and abs(value) >= 1 else said


def ours(text: str) -> str:
    """Words of the electrics written as this house writes them, to be said in the shop's own by `trade`."""
    return _PERCENT.sub(" %", _GROUND.sub("earth", text))
