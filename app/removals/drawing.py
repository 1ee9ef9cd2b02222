"""A stack drawn as an exploded side view: where each piece stands along the axis, and what shape it has. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.removals.stacks import Stack

HIGH = 220  # of the drawing, in its own units
AXIS = 92
GAP = 22
LEAST = 124  # both words, outside and inside, side by side
METAL_SHAPES = ("panel", "chassis")

# What a piece is called → its shape. The first word that fits decides, so the narrower stand first.
_SHAPES = (
    ("knob", "knob"), ("dress nut", "nut"), ("lock-nut", "locknut"), ("lock nut", "locknut"), ("nut", "nut"),
    ("toothed", "toothed"), ("spring washer", "spring"), ("cup washer", "cup"), ("fibre", "fibre"), ("insulat", "fibre"),
    ("shoulder", "bush"), ("washer", "flat"), ("bush", "bush"), ("grommet", "bush"), ("insert", "chassis"),
    ("chassis", "chassis"), ("fascia", "panel"), ("panel", "panel"), ("board", "panel"), ("cover", "panel"),
    ("bolt", "screw"), ("screw", "screw"), ("stud", "screw"), ("ring", "ring"), ("tag", "ring"), ("lug", "ring"),
    ("body", "body"), ("transformer", "body"), ("pot", "body"), ("switch", "body"), ("base", "body"), ("spring", "spring"),
)
# Shape → width and height, in units of the drawing.
_SIZES = {"knob": (54, 42), "nut": (20, 38), "locknut": (20, 38), "flat": (8, 50), "toothed": (10, 48), "spring": (12, 42),
          "fibre": (9, 58), "cup": (16, 46), "panel": (12, 136), "chassis": (12, 136), "bush": (26, 44), "ring": (12, 62),
          "screw": (64, 40), "body": (84, 84), "other": (22, 34)}


@dataclass(frozen=True)
class Drawn:
    """One piece: its number from outside, its words, its shape, and its box; `ball` is where its number stands."""

    number: int
    words: str
    shape: str
    x: float
    width: float
    height: float
    ball: float

    @property
    def middle(self) -> float:
        return self.x + self.width / 2

    @property
    def top(self) -> float:
        return AXIS - self.height / 2

    @property
    def bottom(self) -> float:
        return AXIS + self.height / 2


@dataclass(frozen=True)
class Drawing:
    """The whole stack, outer to inner; `words` is its text alternative."""

    pieces: tuple[Drawn, ...]
    width: float
    height: float = HIGH
    axis: float = AXIS

    @property
    def words(self) -> str:
        named = ", ".join(f"{piece.number} {piece.words}" for piece in self.pieces)
        return f"Stack from outside to inside: {named}"


def shape_of(piece: str) -> str:
    """The shape of a piece by its name; "other" for what is not known."""
    told = piece.lower()
    return next((shape for word, shape in _SHAPES if word in told), "other")


def drawn(stacks: Iterable[Stack]) -> tuple[tuple[int, Drawing], ...]:
    """Each stack that has pieces: how many of it, and its drawing."""
    return tuple((stack.times, drawing) for stack in stacks if (drawing := draw(stack.pieces)) is not None)


def draw(stack: Iterable[str]) -> Drawing | None:
    """Lay the pieces out along the axis; None without any. Two sheets of metal lie close, all else apart."""
    found: list[Drawn] = []
    x, ball, before = 14.0, 0.0, ""
    for number, piece in enumerate(stack, start=1):
        shape = shape_of(piece)
        width, height = _SIZES[shape]
        if found:
            x += 30 if before in METAL_SHAPES and shape in METAL_SHAPES else GAP
        ball = max(ball + 30 if found else 0.0, x + width / 2)
        found.append(Drawn(number, piece.removesuffix(" (captive)"), shape, x, width, height, ball))
        x, before = x + width, shape
    if not found:
        return None
    return Drawing(tuple(found), max(x + 14, ball + 28, LEAST))
