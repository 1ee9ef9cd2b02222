"""Within which time the law of a place asks a repairer to report an injury: dated data with its source, `duties.toml` beside this.

Not legal advice. Where no period was found the words say so and nothing is calculated: the shop asks its own authority.
"""

from __future__ import annotations

import functools
import tomllib
from pathlib import Path

from app.incidents.rules import Duty

FILE = Path(__file__).with_name("duties.toml")
PLAIN = "plain"


@functools.cache
def known() -> dict[str, Duty]:
    """Every duty there is, by its jurisdiction."""
    given = tomllib.loads(FILE.read_text("utf-8"))["duty"]
    return {one["jurisdiction"]: Duty(**{"days": None, **one}) for one in given}


def for_jurisdiction(jurisdiction: str) -> Duty:
    """The duty in this jurisdiction; the plain one, which names no law, where there is none."""
    return known().get(jurisdiction.strip().lower(), known()[PLAIN])
