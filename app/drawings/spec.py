"""What is asked about a drawing, and about a pin on it."""

from __future__ import annotations

from dataclasses import dataclass

from app.drawings.rules import DrawingKind
from app.errors import BadInput
from app.kernel.spec import Choice, Number, Text, asked, tidied, values

ON_THE_DRAWING = "A pin lies on the drawing: 0 to 100 per cent."


@dataclass(frozen=True)
class DrawingFacts:
    """Whose amp it draws, what it shows, and where the shop has it from, in its own words."""

    maker: str = asked(Text("Maker, as marked", "Enter the maker as marked, or “home-built”.", longest=120))
    model: str = asked(Text("Model, as marked", "Enter the model as marked.", longest=120))
    title: str = asked(Text("Title", "Enter a title, such as “Preamp, sheet 1”.", longest=120))
    kind: DrawingKind = asked(Choice("Kind", None, words=values(DrawingKind), start=DrawingKind.SCHEMATIC), DrawingKind.SCHEMATIC)
    source: str = asked(Text("Source", longest=400, sort="lines"), "")

    def checked(self) -> DrawingFacts:
        """Tidied; BadInput without maker, model or title."""
        found = tidied(self)
        for name, words in (("maker", "Enter the maker as marked, or “home-built”."), ("model", "Enter the model as marked."),
                            ("title", "Enter a title, such as “Preamp, sheet 1”.")):
            if not getattr(found, name):
                raise BadInput(words, name)
        return found


@dataclass(frozen=True)
class PinFacts:
    """A note on a place of the picture, across from its left and down from its top, in per cent."""

    note: str = asked(Text("Note", "Enter what the pin says.", longest=200))
    across: float = asked(Number("Across from the left", "Tap the drawing, or enter how far across.", low=0, high=100,
                                 wrong=ON_THE_DRAWING))
    down: float = asked(Number("Down from the top", "Tap the drawing, or enter how far down.", low=0, high=100,
                               wrong=ON_THE_DRAWING))
