"""What the records cannot know and the plan would be better for: asked with the likely answers, and never a reason to refuse."""

from __future__ import annotations

from dataclasses import dataclass

from app.reassembly.planner.cavities import unclosed
from app.reassembly.planner.mains import is_earth, is_mains
from app.reassembly.planner.model import PANEL_MOUNTED, Model
from app.reassembly.planner.power import base_of
from app.reassembly.planner.things import CLASSES, Thing

NOTHING = "nothing"  # a cover that closes no cavity


@dataclass(frozen=True)
class Question:
    """One thing to ask about one record: `field` of it, with what to choose from; no choices means yes or no.

    Fields: "on" (ids), "stacks" (yes), "closes" (cavities, or NOTHING), "end N" (what its end N, from 0, carries).
    """

    record: str
    field: str
    words: str
    choices: tuple[str, ...] = ()


def questions(model: Model) -> tuple[Question, ...]:
    """Every question that the records of a job leave open, in the order of the records."""
    found = [_host_of(model, thing) for thing in model.back] + [_turned(model, thing) for thing in model.back]
    found += [*_primary(model), *_closing(model)]
    return tuple(each for each in found if each is not None)


def _primary(model: Model) -> list[Question | None]:
    """Which leads of a mains transformer carry the mains, while fewer than two of them are known to."""
    found: list[Question | None] = []
    for thing in model.back:
        if not model.has(thing, "mains transformer"):
            continue
        unsaid = [(number, end) for number, end in enumerate(thing.ends) if not end.own_class
                  and not is_mains(model, thing, end) and not is_earth(model, thing, end)
                  and not model.has(model.things.get(end.host), "base")]
        if sum(is_mains(model, thing, end) for end in thing.ends) < 2:
            found += [Question(thing.id, f"end {number}", f"What does the lead of {thing.title} at {end.at} carry?", CLASSES)
                      for number, end in unsaid]
    return found


def _closing(model: Model) -> list[Question | None]:
    """What a cover or the chassis closes, while a cavity that is named has nothing to close it."""
    left = unclosed(model.things.values())
    asked = [thing for thing in model.back if model.has(thing, "cover", "cabinet") and not thing.closes]
    return [Question(thing.id, "closes", f"Which cavity does {thing.title} close?",
                     (*(name for name in left if name.casefold() != thing.cavity.casefold()), NOTHING))
            for thing in asked if left and not model.job.proofs]


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
