"""Stacks as they are written and counted: outer to inner, several of one body, and what of them comes loose. Pure."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from app.errors import BadInput
from app.removals.rules import CAPTIVE, PIECE_CLASSES, STACK_PIECES, THROUGH, fold

MOST_STACKS = 40  # alike stacks of one body


@dataclass(frozen=True)
class Stack:
    """One of several stacks of a body that differ: how many of it, and its pieces outer to inner."""

    times: int
    pieces: tuple[str, ...]

    @property
    def text(self) -> str:
        """As it is typed: '1 × bolt / ring / nut'."""
        return f"{self.times} × {' / '.join(self.pieces)}"


def read_stack(text: str) -> tuple[str, ...]:
    """Pieces outer to inner, one a line, or parted by commas or slashes; the slash of 3/8 parts nothing."""
    return tuple(piece.lower() if piece.lower() in STACK_PIECES else piece
                 for piece in (fold(one) for one in re.split(r"[\n,]|(?<!\d)/|/(?!\d)", text or "")) if piece)


def read_stacks(text: str) -> tuple[Stack, ...]:
    """Further stacks, one a line: how many, then the pieces outer to inner: '1 × bolt / chassis / ring / nut'."""
    found = []
    for line in (fold(one) for one in (text or "").splitlines()):
        if line:
            many = re.match(r"(\d{1,2}) ?[×x*] ?", line)
            pieces = read_stack(line[many.end():] if many else line)
            times = int(many.group(1)) if many else 1
            if not pieces or not 0 < times <= MOST_STACKS:
                raise BadInput(f"“{line}”: enter how many and the pieces, for example 1 × bolt / chassis / ring / nut.",
                               "other_stacks")
            found.append(Stack(times, pieces))
    return tuple(found)


def read_bodies(text: str) -> tuple[str, ...]:
    """What a shared fixing holds: 'T1, BR1 and L1'."""
    return tuple(part for part in (fold(one) for one in re.split(r",|\band\b", text or "")) if part)


def loose_in_stack(stack: Iterable[str], others: Iterable[str] = (),
                   counted_as: Callable[[str], str] = str.lower) -> dict[str, int]:
    """The pieces of a stack that come loose; `others` are marks and names of things with a record of their own.

    `counted_as` says the class of a piece.
    """
    own_record = {name.lower() for name in others if name}
    return dict(Counter(counted_as(piece) for piece in stack if piece.lower() not in THROUGH and piece.lower() not in own_record
                        and not piece.endswith(CAPTIVE)))


def unambiguous_names(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Name, in small letters, → tag, of (name, tag) pairs: names that mean one thing and are no class of piece."""
    listed = [(name.lower(), mark) for name, mark in pairs]
    often = Counter(name for name, _ in listed)
    return {name: mark for name, mark in listed if often[name] == 1 and name not in PIECE_CLASSES}


def loose_pieces(stacks: Iterable[Stack], fasteners: Mapping[str, int], others: Iterable[str] = (),
                 counted_as: Callable[[str], str] = str.lower) -> dict[str, int]:
    """Every loose piece of a removal by class. A wire end is none: it is counted where it is joined."""
    count, known = Counter[str](), tuple(others)
    for stack in stacks:
        for name, number in loose_in_stack(stack.pieces, known, counted_as).items():
            count[name] += number * stack.times
    count.update({name: number for name, number in fasteners.items() if number})
    return dict(count)
