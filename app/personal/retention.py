"""How long the law of a place wants papers kept: dated data with its source, `retention.toml` beside this.

Not legal advice. Where no period was found, or nobody has read it in its source, the words say so.
"""

from __future__ import annotations

import functools
import tomllib
from pathlib import Path

from app.personal.rules.retention import Period

FILE = Path(__file__).with_name("retention.toml")
PLAIN = "plain"


@functools.cache
def known() -> dict[str, tuple[Period, ...]]:
    """Every period there is, by its jurisdiction."""
    found: dict[str, tuple[Period, ...]] = {}
    for one in tomllib.loads(FILE.read_text("utf-8"))["period"]:
        period = Period(**{"years": None, **one, "papers": tuple(one["papers"])})
        found[period.jurisdiction] = (*found.get(period.jurisdiction, ()), period)
    return found


def for_jurisdiction(jurisdiction: str) -> tuple[Period, ...]:
    """The periods of this jurisdiction; the plain one, which names no law, where there is none."""
    return known().get(jurisdiction.strip().lower(), known()[PLAIN])
