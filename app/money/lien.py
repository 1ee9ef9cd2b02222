"""Whether goods may be held until they are paid, as far as it was read for the shop's place: dated data beside this file."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

SHIPPED = Path(__file__).with_name("lien.toml")


@dataclass(frozen=True)
class Lien:
    """What was read of one place. `above_agreed`: whether it holds too where more is charged than was agreed."""

    words: str
    source: str
    address: str
    read: str
    checked: date
    may_hold: bool
    above_agreed: bool = True

    @property
    def unconfirmed(self) -> bool:
        """Nobody read it in the text that it comes from."""
        return self.read != "seen"


@functools.cache
def known() -> dict[str, Lien]:
    """What was read, by jurisdiction."""
    with SHIPPED.open("rb") as file:
        return {code: Lien(**given) for code, given in tomllib.load(file).items()}


def of(jurisdiction: str) -> Lien | None:
    """What was read for this place; None where nothing was, so that nothing may be held by it."""
    return known().get(jurisdiction.strip().lower())
