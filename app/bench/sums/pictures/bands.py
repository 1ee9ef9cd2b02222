"""A resistor with its bands, each named: the colour is the message, so it is drawn as it is in both themes."""

from __future__ import annotations

from collections.abc import Sequence

from app.bench.sums.pictures.drawing import Box, Item, Line, Picture, Word, path

PAINT = {"black": "#1b1b1b", "brown": "#6b3d1e", "red": "#c0281c", "orange": "#e27a1b", "yellow": "#edc92f", "green": "#2f7d3b",
         "blue": "#2a55a5", "violet": "#7a4a9c", "grey": "#878787", "white": "#f7f7f5", "gold": "#b8923a", "silver": "#b9bdc2"}


def resistor(bands: Sequence[str], value: str) -> Picture:
    """The body, its leads and the bands from left to right."""
    items: list[Item] = [Line(path([(14, 76), (466, 76)]), "lead"), Box(70, 30, 340, 92, "body")]
    gap = 300.0 / (len(bands) + 0.6)
    for number, name in enumerate(bands):
        x = 94.0 + gap * number + (gap * 0.6 if number == len(bands) - 1 and len(bands) > 3 else 0.0)
        items += [Box(x, 30, 26, 92, "colour", PAINT[name]), Word(x + 13, 146 + (22 if number % 2 else 0), name, "soft", "middle")]
    return Picture("As it lies on the bench", f"A resistor with the bands {', '.join(bands)}: {value}.", 178.0, tuple(items))
