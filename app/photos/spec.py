"""How a record is pinned to a photo from its own page."""

from __future__ import annotations

from dataclasses import dataclass

from app.kernel.spec import Number, asked

ON_THE_PICTURE = "A pin lies on the picture."


@dataclass(frozen=True)
class Pinned:
    """The photo that is open, and where on it the record lies, each from 0 to 1; None: on the whole of it."""

    photo_id: int | None = asked(Number("Photo", whole=True), None)
    pin_x: float | None = asked(Number("Across", low=0, high=1, wrong=ON_THE_PICTURE), None)
    pin_y: float | None = asked(Number("Down", low=0, high=1, wrong=ON_THE_PICTURE), None)
