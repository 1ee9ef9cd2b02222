"""An order's way through the shop as a row of lugs: made off, present, open, held or barred. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from app.orders.stages import IN_ORDER, End, Stage


@dataclass(frozen=True)
class Lug:
    """One stage on the strip: its word, its state (made_off, present, open, held, barred) and a note such as a date."""

    word: str
    state: str
    note: str = ""


def lugs(stage: Stage, *, ended: End | None, held: bool, left_on: dict[Stage, str] | None = None) -> tuple[Lug, ...]:
    """The seven lugs. `held` bars the present one; `left_on` says on which day a stage was last left, in words.

    All seven are made off only when the amp left as repaired: any other end bars the lug that it came to, and those that were
    never reached stay open.
    """
    left = left_on or {}
    here = len(IN_ORDER) if ended is End.REPAIRED else IN_ORDER.index(stage)

    def state(place: int) -> str:
        if place < here:
            return "made_off"
        if place > here:
            return "open"
        if ended is not None:
            return "barred"
        return "held" if held else "present"

    def note(one: Stage, place: int) -> str:
        if place == here and ended is not None:
            return ended.word.lower()
        return left.get(one, "") if place < here else ""

    return tuple(Lug(one.word, state(place), note(one, place)) for place, one in enumerate(IN_ORDER))
