"""How an amp protects against shock. Pure."""

from __future__ import annotations

import enum


class ProtectionClass(enum.StrEnum):
    """How the amp protects against shock (IEC 61140): class I relies on an earth, class II on double insulation."""

    I = "I"  # noqa: E741 - the standard's own name
    II = "II"
    UNKNOWN = "not known yet"
