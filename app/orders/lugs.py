"""An order's way through the shop as a row of lugs: made off, present, open or held. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from app.orders.stages import IN_ORDER, Stage


@dataclass(frozen=True)
class Lug:
    """One stage on the strip: its word, its state (made_off, present, open, held) and a note such as a date."""

    word: str
    state: str
    note: str = ""


def lugs(stage: Stage, *, ended: bool, held: bool, left_on: dict[Stage, str] | None = None) -> tuple[Lug, ...]:
    """The seven lugs. `held` bars the present one; `left_on` says on which day a stage was last left, in words."""
    left = left_on or {}
    here = len(IN_ORDER) if ended else IN_ORDER.index(stage)

    def state(place: int) -> str:
        if place < here:
            return "made_off"
        if place > here:
            return "open"
        return "held" if held else "present"

    def note(one: Stage, place: int) -> str:
        return left.get(one, "") if place < here else ""

    return tuple(Lug(one.word, state(place), note(one, place)) for place, one in enumerate(IN_ORDER))
