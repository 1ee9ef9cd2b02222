"""What the records cannot know and the plan would be better for: asked with the likely answers, and never a reason to refuse."""

from __future__ import annotations

from dataclasses import dataclass

from app.reassembly.planner.model import PANEL_MOUNTED, Model
from app.reassembly.planner.power import base_of
from app.reassembly.planner.things import Thing


@dataclass(frozen=True)
class Question:
    """One thing to ask about one record: `field` of it, with the ids to choose from; no choices means yes or no."""

    record: str
    field: str
    words: str
    choices: tuple[str, ...] = ()


def questions(model: Model) -> tuple[Question, ...]:
    """Every question that the records of a job leave open, in the order of the records."""
    found = [_host_of(model, thing) for thing in model.back] + [_turned(model, thing) for thing in model.back]
    return tuple(each for each in found if each is not None)


def _host_of(model: Model, thing: Thing) -> Question | None:
    """In what it sits: a valve, a fuse, a can capacitor beside a clamp that holds nothing yet."""
    if thing.id not in model.handles or thing.at_once or thing.on in model.things:
        return None
    if model.has(thing, "valve") and base_of(model, thing) is None:
        return _ask(model, thing, "base", f"In which base does {thing.title} sit?")
    if model.has(thing, "fuse"):
        return _ask(model, thing, "fuse holder", f"In which holder does {thing.title} sit?")
    if model.has(thing, "can capacitor") and not thing.stacks:
        return _ask(model, thing, "clamp", f"Which clamp holds {thing.title}?")
    return None


def _ask(model: Model, thing: Thing, trait: str, words: str) -> Question | None:
    """Choose among what nothing else sits in yet; where there is nothing to choose, nothing is asked."""
    taken = {each.on for each in model.back if each.on}
    choices = tuple(each.id for each in model.back if model.has(each, trait) and each.id not in taken)
    return Question(thing.id, "on", words, choices) if choices else None


def _turned(model: Model, thing: Thing) -> Question | None:
    """A pot, switch or jack whose stack has its body outside or its nut inside was written down the wrong way round."""
    if not model.has(thing, *PANEL_MOUNTED) or model.has(thing, "lamp"):
        return None
    for stack in thing.stacks:
        pieces = stack.pieces
        body = next((index for index, piece in enumerate(pieces) if piece == "(body)"), None)
        outer = [index for index, piece in enumerate(pieces)
                 if piece.startswith("knob") or ("nut" in piece and "back-nut" not in piece)]
        if body is not None and outer and body < min(outer):
            words = f"The stack of {thing.title} has its body outside and its nut inside. Turn it round?"
            return Question(thing.id, "stacks", words)
    return None
