"""Cavities as the job names them: counted when the work in them is finished, and before they close, innermost first. (Rule 8.)"""

from __future__ import annotations

from collections import Counter

from app.reassembly.planner.drafts import Key
from app.reassembly.planner.geometry import is_hidden
from app.reassembly.planner.model import Model, joint_key
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.steps import Step
from app.reassembly.planner.things import Cavity, End, Thing

WIRE_END = "wire end"


def add_cavities(model: Model) -> None:
    """The count of each cavity, without what it waits for."""
    for cavity in model.job.cavities:
        model.drafts.add(("count", cavity.id), Step(cavity.id, label=f"Count and look: {cavity.words}", proof=True),
                         awaited=f"the count “{cavity.words}”", subject=f"The count “{cavity.words}”")


def cavities(model: Model) -> None:
    """What each count waits for and what closes after it."""
    for cavity in model.job.cavities:
        key = ("count", cavity.id)
        closing = model.keys_of(cavity.closes)
        model.drafts.join([key], closing, "count-before-closure", (cavity.id,), Strength.SAFETY)
        for thing in _inside(model, cavity, closing):
            if thing.id in model.handles:
                model.drafts.join([model.handles[thing.id].last], [key], "count-after-work", (cavity.id, thing.id), Strength.RECORD)
            model.drafts.join(_ends_within(model, cavity, thing), [key], "count-after-work", (cavity.id, thing.id), Strength.HABIT)
    _measured_first(model)


def _measured_first(model: Model) -> None:
    """What is measured or looked at before something closes is measured before the count that closes it."""
    for cavity in model.job.cavities:
        closing = set(model.keys_of(cavity.closes))
        for proof in model.job.proofs:
            if closing & set(model.keys_of(proof.before)):
                records = (cavity.id, proof.id)
                model.drafts.join([("prove", proof.id)], [("count", cavity.id)], "count-after-work", records, Strength.HABIT)


def _inside(model: Model, cavity: Cavity, closing: list[Key]) -> list[Thing]:
    """The things that lie in a cavity: as recorded; else what lay under what closes it, or all that does not wait for that."""
    if cavity.covers:
        return [model.things[name] for name in cavity.covers if name in model.things and model.returns(model.things[name])]
    lids = [model.things[owner] for _, owner in closing if owner in model.things]
    if all(model.has(lid, "board", "box") for lid in lids):
        return [thing for thing in model.back if any(lid.id in thing.under for lid in lids)]
    late = model.drafts.behind(closing)
    if any(lid.kind.lower().startswith("chassis") for lid in lids):
        elsewhere = {thing.id for thing in model.back if model.has(thing, "speaker", "tank")}
    else:
        elsewhere = {thing.id for thing in model.back if model.has(thing, "cover") and not model.stacked_on(thing.id) & {
            lid.id for lid in lids}}
    elsewhere |= {thing.id for thing in model.back if thing.on in elsewhere or elsewhere & {end.host for end in thing.ends}}
    besides = () if any(model.has(lid, "cabinet") for lid in lids) else ("valve", "retainer", "can", "fuse")
    within = [thing for thing in model.back if thing.id not in elsewhere and not model.has(thing, *besides)]
    return [thing for thing in within if not late & {*model.last(thing), *model.entry(thing)}]


def _ends_within(model: Model, cavity: Cavity, thing: Thing) -> list[Key]:
    """The ends and joints of a thing that are out of sight once the cavity is closed."""
    lids = {name for name, _ in cavity.closes}
    inner = any(model.has(model.things.get(lid), "board", "box") for lid in lids)
    return [key for end, placed in model.ends[thing.id] for key in (placed, joint_key(end))
            if (_out_of_sight(model, thing, end, lids) if inner else end.host not in lids)]


def _out_of_sight(model: Model, thing: Thing, end: End, lids: set[str]) -> bool:
    """Whether an end lies on the hidden side of what closes, or at something that lies under it."""
    if end.host in lids:
        return is_hidden(model, thing, end)
    return not lids.isdisjoint(model.under_of(end.host))


def pieces_within(model: Model, cavity: Cavity) -> dict[str, int]:
    """How many of each class of piece a count of the cavity must come to, wire ends among them."""
    found: Counter[str] = Counter()
    for name in cavity.covers:
        thing = model.things.get(name)
        if thing is None or not model.returns(thing):
            continue
        for stack in thing.stacks:
            for piece in stack.pieces:
                if not piece.startswith("(") and piece not in model.things:
                    found[piece] += stack.times
        if thing.ends:
            found[WIRE_END] += len(thing.ends)
    return dict(found)
