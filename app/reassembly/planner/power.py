"""Power in stages, and what may go in between them: no output valve before everything that protects it. (Rules 4 and 5.)

Sequence: as practitioners publish it (from memory). Voltages kill: every stage with the mains on is for a licensed or
instructed person, and local rules govern.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from app.reassembly.planner.drafts import Key
from app.reassembly.planner.geometry import on_board
from app.reassembly.planner.mains import mains_keys, plugs_at_boards
from app.reassembly.planner.model import Model, joint_key
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.things import Proof, Thing

# The stages with the mains on, in their order.
_WINDINGS = ("mains transformer", "output transformer", "choke")
STAGES = ("lamp", "bias", "HT", "small", "current")
Sorts = Mapping[str, Sequence[Key]]


def base_of(model: Model, valve: Thing) -> Thing | None:
    """The base that a valve sits in: as recorded, else the one whose name says whose it is."""
    if model.has(model.things.get(valve.on or ""), "base"):
        return model.things[valve.on or ""]
    bases = [thing for thing in model.things.values() if model.has(thing, "base")]
    said = [base for base in bases if valve.id.lower() in re.findall(r"[\w-]+", base.name.lower())]
    return next(iter(said or [base for base in bases if base.id.lower().endswith(valve.id.lower())]), None)


def output_valves(model: Model) -> list[Thing]:
    """Valves whose base an output transformer is wired to, and valves that are called so by kind or type."""
    measured = {name for proof in model.job.proofs if re.search("cathode current|dissipation|idle current", proof.what)
                for name, act in proof.after if act == "fit"}
    fed = {end.host for thing in model.back if model.has(thing, "output transformer") for end in thing.ends}
    found = []
    for valve in valves(model):
        base = base_of(model, valve)
        if model.has(valve, "output") or valve.id in measured or valve.id in fed or (base is not None and base.id in fed):
            found.append(valve)
    return [valve for valve in found if not model.has(valve, "rectifier")]


def valves(model: Model) -> list[Thing]:
    """Every valve that goes back."""
    return [thing for thing in model.back if model.has(thing, "valve") and thing.id in model.handles]


def fuses(model: Model, *, of_mains: bool) -> list[Thing]:
    """Mains fuses, by their holder or their name; or the others, which are HT and heater fuses."""
    found = []
    for fuse in [thing for thing in model.back if model.has(thing, "fuse") and thing.id in model.handles]:
        holder = model.things.get(fuse.on or "")
        live = holder is not None and any(
            key[1] == holder.id or key[0].startswith(f"in {holder.id}:") for key in mains_keys(model))
        named_ht = re.search(r"\bHT\b|secondary|heater|B\+|anode", f"{fuse.kind} {fuse.name}", re.IGNORECASE)
        named_mains = re.search(r"mains|line|primary", f"{fuse.kind} {fuse.name}", re.IGNORECASE)
        if (live or (named_mains is not None and not named_ht)) is of_mains:
            found.append(fuse)
    return found


def holders_before_fuses(model: Model) -> None:
    """A fuse that does not say in which holder it sits waits for all of them, as a habit."""
    holders = [key for thing in model.back if model.has(thing, "fuse holder") or "fuse" in f"{thing.kind} {thing.name}".lower()
               and model.has(thing, "inlet", "control") for key in model.firm(thing.id)]
    for fuse in [thing for thing in model.back if model.has(thing, "fuse") and thing.id in model.handles]:
        if fuse.on not in model.things:
            model.drafts.join(holders, [model.handles[fuse.id].entry], "seated-on", (fuse.id,), Strength.HABIT)


def wired_before_valves(model: Model) -> None:
    """No valve before its base is fixed; no output valve before it is wired and the load of its transformer is made off."""
    load = [joint_key(end) for thing in model.back if model.has(thing, "output transformer") for end in thing.ends
            if not model.has(model.things.get(end.host), "valve")]
    # What a record calls a speaker lead is part of the load; a load on the bench takes the place of the loudspeaker's own.
    also = [joint_key(end) for thing in model.back for end in thing.ends if end.own_class == "speaker"
            and not any(model.has(model.things.get(each.host), "speaker") for each in thing.ends)]
    outputs = {valve.id for valve in output_valves(model)}
    for valve in valves(model):
        base, entry = base_of(model, valve), [model.handles[valve.id].entry]
        if base is not None:
            board = on_board(model, base)
            firm = model.firm(base.id) + (model.firm(board.id) if board else [])
            model.drafts.join(firm, entry, "base-before-valve", (valve.id, base.id), Strength.RECORD)
            wired = [(f"J{pin}", host) for (host, pin), ends in model.joints.items()
                     if host == base.id or any(thing.id == base.id for thing, _, _ in ends)]
            sure = Strength.SAFETY if valve.id in outputs else Strength.HABIT
            model.drafts.join(wired, entry, "wired-before-valve", (valve.id, base.id), sure)
            over = [model.handles[each.id].entry for each in model.back
                    if each.on == base.id and model.has(each, "retainer", "can") and each.id in model.handles]
            model.drafts.join(entry, over, "seated-on", (valve.id, base.id))
        if valve.id in outputs:
            model.drafts.join(load, entry, "wired-before-valve", (valve.id,), Strength.SAFETY)
            model.drafts.join(also, entry, "wired-before-valve", (valve.id,), Strength.HABIT)


def sequence(model: Model, sorts: Sorts, proofs: Mapping[str, Proof]) -> None:
    """Earth, insulation, cold resistance, then the stages with the mains on; what goes in between; discharge; safety test."""
    mains = mains_keys(model)
    _insulation(model, sorts, proofs, mains)
    first = next((list(sorts[stage]) for stage in STAGES if sorts.get(stage)), [])
    model.drafts.join(_first_earth(model, sorts, mains), sorts.get("insulation", ()), "power-order", strength=Strength.HABIT)
    # What the job says of its own measurements outweighs what their words let the planner guess, save where it protects somebody.
    sure = Strength.HABIT if any(proof.after or proof.before for proof in proofs.values()) else Strength.USUAL
    model.drafts.join(sorts.get("insulation", ()), first, "power-order", _ids(sorts.get("insulation", ())), Strength.SAFETY)
    model.drafts.join(sorts.get("cold", ()), first, "power-order", _ids(sorts.get("cold", ())), sure)
    fused = [model.handles[fuse.id].entry for fuse in fuses(model, of_mains=True)]
    model.drafts.join(fused, first, "power-order", _ids(fused), Strength.HABIT)
    _valves_in_between(model, sorts, first, sure)
    done = [stage for stage in STAGES if sorts.get(stage)]
    for before, then in zip(done, done[1:], strict=False):
        model.drafts.join(sorts[before], sorts[then], "power-order", _ids(sorts[before]), sure)
    live = [key for stage in STAGES for key in sorts.get(stage, ())]
    model.drafts.join(live, sorts.get("discharge", ()), "proof-after", _ids(live), Strength.HABIT)
    _closed_last(model, sorts, proofs)
    _nothing_loose(model, first, list(sorts.get("cold", ())), set(mains))
    _plugged_in(model, [*sorts.get("small", ()), *sorts.get("current", ())])


def _insulation(model: Model, sorts: Sorts, proofs: Mapping[str, Proof], mains: list[Key]) -> None:
    fused = [model.handles[fuse.id].entry for fuse in fuses(model, of_mains=True)]
    for key in sorts.get("insulation", ()):
        proof = proofs.get(key[1])
        said = proof is not None and proof.after
        model.drafts.join(mains, [key], "insulation", _ids([key]), Strength.HABIT if said else Strength.RECORD)
        model.drafts.join(fused, [key], "insulation", _ids([key]), Strength.HABIT)
        if proof is None or re.search(r"unplug|disconnect|board.*out", f"{proof.what} {proof.condition}", re.IGNORECASE):
            model.drafts.join([key], sorted(plugs_at_boards(model)), "insulation", _ids([key]), Strength.HABIT)


def _first_earth(model: Model, sorts: Sorts, mains: list[Key]) -> list[Key]:
    later = model.drafts.behind(mains)
    return [key for key in sorts.get("earth", ()) if key not in later]


def _valves_in_between(model: Model, sorts: Sorts, first: list[Key], sure: Strength) -> None:
    """Valves out for the lamp stage; HT fuse and rectifier after bias, before HT; output valves after everything else."""
    outputs = output_valves(model)
    entry = {valve.id: model.handles[valve.id].entry for valve in valves(model)}
    rectifiers = [entry[valve.id] for valve in valves(model) if model.has(valve, "rectifier")]
    small = [entry[valve.id] for valve in valves(model) if valve not in outputs and not model.has(valve, "rectifier")]
    ht_fuses = [model.handles[fuse.id].entry for fuse in fuses(model, of_mains=False)]
    last = [entry[valve.id] for valve in outputs]
    if sorts.get("lamp"):
        model.drafts.join(sorts["lamp"], [*entry.values(), *ht_fuses], "power-order", _ids(sorts["lamp"]), sure)
    model.drafts.join(sorts.get("insulation", ()), list(entry.values()), "insulation", _ids(sorts.get("insulation", ())), sure)
    model.drafts.join(sorts.get("bias", ()), [*rectifiers, *ht_fuses], "rectifier", _ids(sorts.get("bias", ())), sure)
    model.drafts.join([*rectifiers, *ht_fuses], sorts.get("HT", ()), "rectifier", _ids([*rectifiers, *ht_fuses]), sure)
    model.drafts.join(small, sorts.get("small", ()), "proof-after", _ids(small), sure)
    model.drafts.join([*sorts.get("small", ()), *sorts.get("cold", ())], last, "proven-before-valve", _ids(last), sure)
    proven = [*sorts.get("bias", ()), *sorts.get("HT", ()), *first]
    model.drafts.join([key for key in proven if key not in sorts.get("current", ())], last, "proven-before-valve", _ids(proven),
                      Strength.SAFETY)
    caps = [key for valve in outputs for key in model.joints_at(valve.id)]
    model.drafts.join([*last, *caps], sorts.get("current", ()), "proof-after", _ids(last), sure)


def _closed_last(model: Model, sorts: Sorts, proofs: Mapping[str, Proof]) -> None:
    """The discharge before the amp is closed; the safety test when it is."""
    outer = [thing for thing in model.back if model.has(thing, "cover", "cabinet") and not model.has(thing, "box")]
    entries = [model.handles[thing.id].entry for thing in outer if thing.id in model.handles]
    for sort in ("insulation", "discharge"):
        for key in sorts.get(sort, ()):
            if key[1] not in proofs or not proofs[key[1]].before:
                behind = model.drafts.before([key])
                shut = [entry for entry in entries if entry not in behind]
                model.drafts.join([key], shut, "proof-before", _ids([key]), Strength.HABIT)
    lasts = [key for thing in outer if thing.id in model.handles for key in (*model.last(thing), *model.firm(thing.id))]
    lasts += sorts.get("earth again", ())
    model.drafts.join(lasts, sorts.get("safety", ()), "proof-after", _ids(lasts), Strength.HABIT)


def _nothing_loose(model: Model, first: list[Key], cold: list[Key], mains: set[Key]) -> None:
    """No power while a soldered end or a plug of a winding is loose; no cold look at the HT while one beyond the mains is.

    Ends that can only be joined later are left out.
    """
    if not first and not cold:
        return
    later = model.drafts.behind([*first, *cold])
    for (host, pin), ends in model.joints.items():
        key = (f"J{pin}", host)
        if key not in later and any(end.how != "plugged" or model.has(thing, *_WINDINGS) for thing, end, _ in ends):
            waiting = first if key in mains else [*cold, *first]
            model.drafts.join([key], waiting, "nothing-loose", tuple(thing.id for thing, _, _ in ends), Strength.HABIT)


def _plugged_in(model: Model, stages: list[Key]) -> None:
    """Every plug is in before the valves are read, save those of a loudspeaker or tank: a load stands in for them."""
    later = model.drafts.behind(stages)
    for (host, pin), ends in model.joints.items():
        outside = any(model.has(model.things.get(end.host), "speaker", "tank") for thing, _, _ in ends for end in thing.ends)
        if (f"J{pin}", host) not in later and not outside and any(end.how == "plugged" for _, end, _ in ends):
            model.drafts.join([(f"J{pin}", host)], stages, "nothing-loose", tuple(thing.id for thing, _, _ in ends), Strength.HABIT)


def _ids(keys: Sequence[Key]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(owner or what for what, owner in keys))
