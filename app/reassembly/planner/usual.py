"""The measurements and looks that a job gets when it names none of its own."""

from __future__ import annotations

from app.reassembly.planner import power
from app.reassembly.planner.cavities import closes_it
from app.reassembly.planner.drafts import Key
from app.reassembly.planner.mains import earth, insulation, is_earth, is_mains, isolation
from app.reassembly.planner.model import Model, joint_key
from app.reassembly.planner.proofs import again, hidden_joints, join_look
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.things import Thing

_STAGES = (
    ("LAMP", "lamp", "On the lamp limiter, no valves in: measure every secondary"),
    ("BIAS", "bias", "No output valves in: measure the bias at each grid pin, at its most negative"),
    ("HT", "HT", "No output valves in: measure the HT, unloaded"),
    ("SMALL", "small", "Measure the anodes and cathodes of the small valves"),
    ("OUT", "current", "Load on: measure the current and dissipation of each output valve"),
)


def usual_proofs(model: Model) -> None:
    """Earth, isolation, insulation, the pins of every base, hidden sides, and power in stages where valves go back."""
    earth(model)
    isolation(model)
    insulation(model)
    _earth_again(model)
    _cold(model)
    for thing in model.things.values():
        if model.has(thing, "base"):
            _verify(model, thing)
    for board, made in hidden_joints(model).items():
        host = model.things[board]
        words = f"Look over the hidden side of {host.title}: every end in, no strays, against the photo"
        key = model.shared("LOOK", board, words, host, host.side, proof=True,
                           awaited=f"the hidden side of {host.title} to be looked at")
        join_look(model, key, board, made)
    _stages(model)


def _verify(model: Model, host: Thing) -> None:
    made = [key for key in model.drafts.every() if key[1] == host.id and key[0].startswith("J")]
    if made:
        words = f"Verify {host.name or host.id} pin to pin: ends counted, no strays"
        model.drafts.join(made, [model.shared("V", host.id, words, host, proof=True)], "proof-after", (host.id,), Strength.RECORD)


def _earth_again(model: Model) -> None:
    """An ear, and a cover or box bonded by a toothed washer or a lead of its own, is measured again when it is tight."""
    for thing in model.back if model.job.earthed else ():
        bonded = any("toothed" in piece for piece in thing.pieces) or any(
            is_earth(model, lead, end) for lead, end, _ in model.ends_at.get(thing.id, ()))
        if thing.id in model.handles and (model.has(thing, "ear") or (bonded and model.has(thing, "cover", "box"))):
            words = f"Measure the protective earth again, from its pin to {thing.title}"
            awaited = f"the earth of {thing.title} to be measured again"
            key = model.shared("PEA", thing.id, words, thing, proof=True, awaited=awaited)
            again(model, key, thing.id, [thing])


def _cold(model: Model) -> None:
    """The HT against 0 V, unplugged, where leads are recorded as carrying it: before any power. (Bench sequence; from memory.)"""
    found = [(thing, end) for thing in model.back for end in thing.ends
             if end.own_class == "HT" and not model.has(model.things.get(end.host), "valve")]
    made = [key for _, end in found if (key := joint_key(end)) in model.drafts]
    if made:
        words = "Unplugged and discharged: measure the HT to 0 V"
        key = model.shared("COLD", "", words, found[0][0], proof=True, awaited="the HT to be measured to 0 V, cold")
        records = tuple(dict.fromkeys(thing.id for thing, _ in found))
        model.drafts.join(made, [key], "proof-after", records, Strength.RECORD)


def _stages(model: Model) -> None:
    """Power in stages, when a valve goes back: only those stages that there is something to measure at."""
    valves, outputs = power.valves(model), power.output_valves(model)
    if not valves:
        return
    wanted = {"lamp", "HT"} | ({"bias", "current"} if outputs else set())
    if any(valve not in outputs and not model.has(valve, "rectifier") for valve in valves):
        wanted.add("small")
    sorts: dict[str, list[Key]] = {
        "earth": [("PE", "")] if ("PE", "") in model.drafts else [],
        "insulation": [key for key in model.drafts.in_order() if key[0] == "IR"],
        "cold": [key for key in model.drafts.in_order() if key[0] == "COLD"]}
    for what, sort, words in _STAGES:
        if sort in wanted:
            sorts[sort] = [model.shared(what, "", words, valves[0], proof=True, powered=True, awaited=f"“{words}”")]
    first = next(sorts[sort] for _, sort, _ in _STAGES if sort in sorts)
    looks = [key for key in model.drafts.in_order() if key[0] in ("V", "LOOK", "ISO")]
    late = model.drafts.behind(first)
    model.drafts.join([key for key in looks if key not in late], first, "looked-before-power",
                      tuple(dict.fromkeys(owner for _, owner in looks if owner)), Strength.SAFETY)
    words = "Switch off, unplug, discharge every HT node, and measure that it is dead"
    sorts["discharge"] = [model.shared("DEAD", "", words, valves[0], proof=True, awaited="every HT node to be discharged")]
    power.sequence(model, sorts, {})
    _boxes_first(model, next((sorts[sort] for _, sort, _ in _STAGES if sorts.get(sort)), []))


def _boxes_first(model: Model, first: list[Key]) -> None:
    """The bond of a box over mains conductors is measured before any power, as they cannot be seen any more then."""
    behind = model.drafts.behind(first)
    for key in [key for key in model.drafts.in_order() if key[0] == "PEA" and key not in behind]:
        box = model.things[key[1]]
        inside = [thing for thing in model.back if box.id in thing.under or closes_it(box.id, box.closes, thing.cavity)]
        if model.has(box, "box") and any(is_mains(model, thing, end) for thing in inside for end in thing.ends):
            model.drafts.join([key], first, "earth-again", (box.id,), Strength.HABIT)
