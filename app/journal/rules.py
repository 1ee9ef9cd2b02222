"""How an entry is hashed, and how a chain is checked."""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

GENESIS = "0" * 64
PROGRAM_NAME, PROGRAM_DEVICE = "Tagstrip", "the program itself"  # who writes what no person does
COVERED = ("seq", "at", "person_id", "person_name", "device", "event", "subject_type", "subject_id", "order_id",
           "before", "after", "reason")


def canonical(value: Mapping[str, Any]) -> str:
    """The one way to write these facts down, so that the same facts have the same hash."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def fresh_salt() -> str:
    """128 bits of chance."""
    return secrets.token_hex(16)


def entry_hash(previous: str, facts: Mapping[str, Any]) -> str:
    """SHA-256 over the hash before and the entry's own facts, its salt among them if it has one."""
    covered = {name: facts[name] for name in COVERED}
    if facts.get("salt"):
        covered["salt"] = facts["salt"]
    return hashlib.sha256((previous + canonical(covered)).encode()).hexdigest()


@dataclass(frozen=True)
class Break:
    """Where the chain does not hold, and why."""

    seq: int
    why: str


def breaks(entries: Iterable[Mapping[str, Any]], erased: Mapping[int, str] = MappingProxyType({})) -> list[Break]:
    """Every place where an entry is missing, altered or out of place. Entries come in order of `seq`.

    `erased`: entries from which a later entry says that a person was erased, each with the hash of what stands there since.
    Such an entry's own hash stays in the chain, and what it says now is held against that later entry.
    """
    found: list[Break] = []
    previous, expected = GENESIS, 1
    for entry in entries:
        if entry["seq"] != expected:
            found.append(Break(expected, f"entries {expected} to {entry['seq'] - 1} are missing"))
        elif entry["previous_hash"] != previous:
            found.append(Break(entry["seq"], "does not follow the entry before it"))
        stands = entry_hash(entry["previous_hash"], entry)
        if stands != entry["hash"] and stands != erased.get(entry["seq"]):
            found.append(Break(entry["seq"], "was altered after it was written"))
        previous, expected = entry["hash"], entry["seq"] + 1
    return found
