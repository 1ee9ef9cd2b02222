"""Cautions near the hand: what a place of work shows in one line each, with more behind it, and where each comes from."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

SHIPPED = Path(__file__).with_name("cautions.toml")
PLACES = ("intake", "finding", "removal", "act", "prove", "parts", "step", "power", "soak", "waste")
MARKS = {"S": "seen", "M": "from memory", "P": "common practice"}


@dataclass(frozen=True)
class Caution:
    """One caution. `name`: what it is about, in a word or two; `by_country`: what else holds there, by ISO 3166 code."""

    key: str
    name: str
    at: tuple[str, ...]
    line: str
    more: str
    source: str
    mark: str
    on: date
    by_country: dict[str, str]

    def law_in(self, country: str | None) -> str:
        """What else holds in this country; '' where nothing is shipped for it."""
        return self.by_country.get(country or "", "")


@functools.cache
def shipped() -> tuple[Caution, ...]:
    """All cautions, in the order of the file."""
    with SHIPPED.open("rb") as file:
        return tuple(_read(one) for one in tomllib.load(file)["caution"])


def cautions_at(place: str) -> tuple[Caution, ...]:
    """Those that one place of work shows; KeyError for a place that is none."""
    if place not in PLACES:
        raise KeyError(place)
    return tuple(one for one in shipped() if place in one.at)


def _read(one: dict[str, object]) -> Caution:
    at, country = one["at"], one.get("country", {})
    assert isinstance(at, list) and isinstance(country, dict) and isinstance(one["on"], date)  # noqa: S101 - our own file
    return Caution(key=str(one["key"]), name=str(one["name"]), at=tuple(map(str, at)), line=str(one["line"]), more=str(one["more"]),
                   source=str(one["source"]), mark=str(one["mark"]), on=one["on"],
                   by_country={code: str(what["words"]) for code, what in country.items()})
