"""The one place that asks what time it is. Rules and services are told."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> datetime:
    """The present moment, UTC."""
    return datetime.now(UTC)
