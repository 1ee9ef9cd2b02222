"""Cavities as the job names them: counted when the work in them is finished, and before they close, innermost first. (Rule 8.)"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from app.reassembly.planner.drafts import Key
from app.reassembly.planner.geometry import is_hidden
from app.reassembly.planner.model import Model, joint_key
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.steps import Step
from app.reassembly.planner.things import Cavity, End, Thing

WIRE_END = "wire end"
_BY_EYE = ("V", "LOOK")  # usual proofs that are made by looking at joints


def add_cavities(model: Model) -> None:
    """The count of each cavity, without what it waits for."""
    for cavity in model.job.cavities:
        model.drafts.add(("count", cavity.id), Step(cavity.step or cavity.id, label=f"Count and look: {cavity.words}", proof=True),
                         awaited=f"the count “{cavity.words}”", subject=f"The count “{cavity.words}”")


def recorded(things: Iterable[Thing]) -> tuple[Cavity, ...]:
    """The cavities that the records of things name and that something closes, each with what lies in it.

    What closes one is recorded, or its name says it: "under TB" is closed by TB, "inside BX1" by BX1. What nothing closes
    stays open to the end, and the last count of the job sees it.
    """
    listed = tuple(things)
    made = [(name, tuple(thing.id for thing in listed if thing.cavity.casefold() == name.casefold()), _lids(listed, name))
            for name in _names(listed)]
    return tuple(Cavity(name, name, within, tuple((lid.id, "fit") for lid in lids), f"COUNT_{name}") for name, within, lids in made
                 if lids)


def unclosed(things: Iterable[Thing]) -> tuple[str, ...]:
    """The cavities that the records name and that nothing closes, as far as they say."""
    listed = tuple(things)
    return tuple(name for name in _names(listed) if not _lids(listed, name))


def _names(things: tuple[Thing, ...]) -> list[str]:
    """Every cavity that is named, as it was spelled first."""
    found: dict[str, str] = {}
    for thing in things:
        if thing.cavity:
            found.setdefault(thing.cavity.casefold(), thing.cavity)
    return list(found.values())


def _lids(things: tuple[Thing, ...], cavity: str) -> list[Thing]:
    """What goes back and closes a cavity; never what lies in it."""
    return [thing for thing in things if thing.goes_back and closes_it(thing.id, thing.closes, cavity)
            and thing.cavity.casefold() != cavity.casefold()]


def closes_it(thing: str, said: str, cavity: str) -> bool:
    """Whether a thing closes a cavity: as its record says, else by the cavity's name alone."""
    return cavity.casefold() in ([said.casefold()] if said else [f"under {thing}".casefold(), f"inside {thing}".casefold()])


def cavities(model: Model) -> None:
    """What each count waits for and what closes after it."""
    for cavity in model.job.cavities:
        key = ("count", cavity.id)
        closing = model.keys_of(cavity.closes)
        model.drafts.join([key], closing, "count-before-closure", _owners(closing), Strength.SAFETY)
        late = model.drafts.behind(closing) if cavity.step else set()
        for thing in _inside(model, cavity, closing):
            records = (thing.id,)
            if thing.id in model.handles:
                done = [model.handles[thing.id].last]
                done += model.tightening(thing.on or "") if model.has(thing, "fixing") else []
                model.drafts.join([at for at in done if at not in late], [key], "count-after-work", records, Strength.RECORD)
            within = [at for at in _ends_within(model, cavity, thing) if at not in late]
            model.drafts.join(within, [key], "count-after-work", records, Strength.HABIT)
        if cavity.step:
            _proven_first(model, cavity, key, late)
    _measured_first(model)


def _proven_first(model: Model, cavity: Cavity, key: Key, late: set[Key]) -> None:
    """The usual measurements of what lies in a cavity before its count, save the stages with the mains on."""
    within = [model.things[name] for name in cavity.covers if name in model.things]
    own = {at for thing in within for at in (*model.last(thing), *model.made(thing))}
    lids = [model.things[name] for name, _ in cavity.closes]
    # A board or box hides joints; what is measured from outside does not wait for it.
    sorts = _BY_EYE if all(model.has(lid, "board", "box") for lid in lids) else (*_BY_EYE, "PE", "PEA", "ISO", "IR", "COLD")
    proven = [at for at in model.drafts.proofs_of(own) if at not in late and at[0] in sorts]
    model.drafts.join(sorted(proven), [key], "count-after-work", cavity.covers[:1], Strength.HABIT)


def _owners(keys: list[Key]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(owner for _, owner in keys if owner))


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
