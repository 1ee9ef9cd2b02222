"""Facts of a paper, or of what is signed: frozen values, the one form in which they are written, and that form's hash. Pure.

Either is gathered as a frozen dataclass with a `version`. What is hashed is the facts and their version, never the page: a
template, the shop's letterhead and its wording pack say the same facts otherwise. Raise the version of a paper's facts when
a field is added, taken away or given another meaning; a new field then carries `since(version)`.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime
from enum import Enum, StrEnum
from typing import Any, Protocol

ASIDE: Mapping[str, Any] = {"aside": True}  # metadata of a field that is printed and does not count: given for the facts
_SINCE = "since"


class Comparison(StrEnum):
    """Whether what was issued or signed still says what stands."""

    SAME = "same"
    CHANGED = "changed"
    NOT_TOLD = "not told"  # its facts were written down in another version's form, and nothing newer is seen


@dataclasses.dataclass(frozen=True)
class Said:
    """What a paper says: the version of its facts (0: before facts had one), their SHA-256, and a moment.

    The moment is that of issuing for an issued paper, and the newest among the facts for what stands now.
    """

    version: int
    sha256: str
    moment: datetime | None


def compare(issued: Said, now: Said) -> Comparison:
    """Papers of one version are compared by their facts, others by what can be compared: whether anything happened since."""
    if issued.version == now.version:
        return Comparison.SAME if issued.sha256 == now.sha256 else Comparison.CHANGED
    if issued.moment is not None and now.moment is not None and now.moment > issued.moment:
        return Comparison.CHANGED
    return Comparison.NOT_TOLD


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


def still_says(kind: str, said: Said, facts: Facts) -> Comparison:
    """Whether what was issued or signed as `said` says what these facts of today say."""
    return compare(said, Said(facts.version, fingerprint(kind, facts), newest_moment(facts, said.version)))
