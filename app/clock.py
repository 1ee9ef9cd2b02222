"""The one place that asks what time it is. Rules and services are told."""

from __future__ import annotations

import time
from datetime import UTC, datetime

# Of the clocks that nobody sets, one that goes on while the machine sleeps, where the system has one.
_STEADY = getattr(time, "CLOCK_BOOTTIME", getattr(time, "CLOCK_MONOTONIC", None))


def now() -> datetime:
    """The present moment, UTC."""
    return datetime.now(UTC)


def steady() -> float:
    """Seconds on a clock that cannot be set: only differences mean something."""
    return time.monotonic() if _STEADY is None else time.clock_gettime(_STEADY)
