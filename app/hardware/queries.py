"""Reading the classes of hardware."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import session
from app.hardware.models import HardwareClass
from app.hardware.rules import FINISHES, HEADS, KINDS, LENGTHS, SIZES, THREADS, fold, read_class
from app.request_cache import cached_until_write

SHOWN = 12  # classes, and sizes, that a form offers by one tap


@cached_until_write
def labels() -> Mapping[str, str]:
    """Label in small letters → label, of every class that the shop has counted."""
    return {label.lower(): label for label in session().scalars(sa.select(HardwareClass.label))}


def label_of(text: str) -> str:
    """What a typed class is counted as: a class that is called exactly that, else the one that its words name."""
    return labels().get(fold(text)) or read_class(text).label


@cached_until_write
def recent() -> list[HardwareClass]:
    """The classes with a size that the shop made last, newest first."""
    sized = sa.or_(HardwareClass.thread != "", HardwareClass.length != "")
    return list(session().scalars(sa.select(HardwareClass).where(sized).order_by(HardwareClass.id.desc()).limit(SHOWN)))


def sizes() -> list[str]:
    """Sizes to tap: those of the shop's newest classes first, then usual ones."""
    return list(dict.fromkeys([*(one.hardware.size for one in recent()), *SIZES]))[:SHOWN]


@dataclass(frozen=True)
class Pickers:
    """What a form offers to tap: whole classes, kinds, sizes, and the single words of a size."""

    recent: Sequence[HardwareClass]
    kinds: Sequence[str]
    sizes: Sequence[str]
    threads: Sequence[str] = THREADS
    lengths: Sequence[str] = LENGTHS
    heads: Sequence[str] = (*HEADS, *FINISHES)


def pickers() -> Pickers:
    """The shop's own classes and sizes first."""
    return Pickers(recent(), KINDS, sizes())


def known() -> list[str]:
    """Every class that the shop has counted, for a list to type from."""
    return sorted(labels().values())
