"""Facts of a paper: frozen values, the one form in which they are written down, and the hash of that form. Pure.

A paper is gathered as a frozen dataclass with a `version`. What is hashed is the facts and their version, never the page: a
template, the shop's letterhead and its wording pack say the same facts otherwise. Raise the version of a paper's facts when
a field is added, taken away or given another meaning; a new field then carries `since(version)`.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime
from enum import Enum
from typing import Any, Protocol

ASIDE: Mapping[str, Any] = {"aside": True}  # metadata of a field that is printed and does not count: given for the facts
_SINCE = "since"


class Facts(Protocol):
    """What every paper's facts have."""

    @property
    def version(self) -> int: ...


def since(version: int, *, aside: bool = False) -> Mapping[str, Any]:
    """Metadata of a field that papers before this version of their facts did not say."""
    return {_SINCE: version, "aside": aside}


def canonical(value: Any) -> Any:
    """The one form of a value that JSON can hold. TypeError or ValueError for what has none: a set, a time without a zone."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: canonical(getattr(value, field.name)) for field in dataclasses.fields(value)
                if not field.metadata.get("aside")}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        if value.tzinfo is None:
            raise ValueError(f"{value!r} has no time zone")
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [canonical(one) for one in value]
    if value is None or isinstance(value, str | bool | int | float):
        return value
    raise TypeError(f"{type(value).__name__} has no one form that could be hashed")


def fingerprint(paper: str, facts: Facts) -> str:
    """SHA-256 of the facts of one kind of paper: JSON in UTF-8, names in order, no blanks, no NaN."""
    told = json.dumps({"paper": paper, **canonical(facts)}, sort_keys=True, separators=(",", ":"), ensure_ascii=False,
                      allow_nan=False)
    return hashlib.sha256(told.encode()).hexdigest()


def newest_moment(facts: Facts, said_by: int) -> datetime | None:
    """The latest moment among what a paper whose facts had this version said as well; None without any."""
    return max(_moments(facts, said_by), default=None)


def _moments(value: Any, said_by: int) -> Iterator[datetime]:
    if isinstance(value, datetime):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from _moments(one, said_by)
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            if field.metadata.get(_SINCE, 0) <= said_by:
                yield from _moments(getattr(value, field.name), said_by)
