"""Measurements as the job names them: what sort each is, what it proves, and what it comes before. (Rules 1, 2, 4 and 5.)"""

from __future__ import annotations

import re
from collections import Counter, defaultdict

from app.reassembly.planner import mains, power
from app.reassembly.planner.drafts import Key
from app.reassembly.planner.geometry import is_hidden
from app.reassembly.planner.model import Model
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.steps import Step
from app.reassembly.planner.things import Proof, Thing

# Sort of proof → words by which a bench names it, tried in this order. (Trade words; common practice, no source.)
_SORTS = (
    ("safety", r"safety test|touch current|leakage current"),
    ("look", r"hidden side|\blook\b|solder side|under ?side of the board|wiring side"),
    ("isolation", r"isolat|clear of the chassis|clear of chassis"),
    ("insulation", r"insulation"),
    ("discharge", r"discharge|drained|safe to touch|proved dead|no charge"),
    ("current", r"cathode current|dissipation|anode current|idle current|quiescent"),
    ("earth", r"earth|protective|bond|ground continuity"),
    ("small", r"small valves|anodes? and cathodes?|anode voltage|plate voltage|stage voltages"),
    ("bias", r"\bbias\b|\bgrids?\b|negative at"),
    ("cold", r"\bcold\b|\bohm\b.*\bHT\b|HT to 0 ?V|B\+ to"),
    ("lamp", r"lamp.?limit|no valves|secondar|first power|limiter"),
    ("HT", r"\bHT\b|B\+|high tension|unloaded"),
    ("small", r"pre-?amp"),
)
_BEFORE_VALVES = ("lamp", "bias", "cold", "HT", "small")
_WORD = re.compile(r"[\w-]+")
_FRAMES = ("mains transformer", "output transformer", "choke", "inlet", "earth")
POWERED = ("lamp", "bias", "HT", "small", "current")


def classify(proof: Proof) -> str:
    """The sort of a proof: as recorded, else by its words; "" where they say nothing that the planner knows."""
    if proof.kind:
        return proof.kind
    if proof.quantity == "look":
        return "look"
    volts = "volt" in proof.quantity.lower() and not re.search(r"discharge|drained", proof.what, re.IGNORECASE)
    for words in (proof.what, f"{proof.what} {proof.condition} {proof.quantity}"):
        for sort, pattern in _SORTS:
            if volts and sort in ("earth", "cold", "isolation", "insulation"):
                continue
            if re.search(pattern, words, re.IGNORECASE):
                return sort
    return ""


def add_proofs(model: Model) -> None:
    """The steps of the job's own measurements, without what they wait for."""
    for proof in model.job.proofs:
        powered = classify(proof) in POWERED
        words = f"{proof.what} ({proof.condition})" if proof.condition else proof.what
        model.drafts.add(("prove", proof.id), Step(proof.id, label=words[:1].upper() + words[1:], proof=True, powered=powered),
                         awaited=f"“{proof.what}”", subject=f"“{proof.what}”")


def proofs(model: Model) -> None:
    """What each measurement of the job waits for, and what waits for it: as recorded, and by its sort."""
    sorts: dict[str, list[Key]] = defaultdict(list)
    for proof in model.job.proofs:
        key = ("prove", proof.id)
        model.drafts.join(model.keys_of(proof.after), [key], "proof-after", (proof.id,), Strength.RECORD)
        model.drafts.join([key], model.keys_of(proof.before), "proof-before", (proof.id,), Strength.RECORD)
        sorts[_sort_in_order(model, proof)].append(key)
    for proof in model.job.proofs:
        _by_sort(model, proof, _sort_in_order(model, proof))
    _unplugged(model)
    power.sequence(model, sorts, {proof.id: proof for proof in model.job.proofs})


def _by_sort(model: Model, proof: Proof, sort: str) -> None:
    key = ("prove", proof.id)
    if sort == "earth again":
        again(model, key, proof.id, _closed(model, proof))
    elif sort == "earth" and (not proof.before or _guards_mains(model, proof)):
        mains.join_earth(model, key, (proof.id,), mains.mains_keys(model), said=bool(proof.after))
        measured = [firm for thing in named(model, proof.what) if model.has(thing, *_FRAMES) for firm in model.firm(thing.id)]
        model.drafts.join(measured, [key], "proof-after", (proof.id,), Strength.HABIT if proof.after else Strength.USUAL)
    elif sort == "isolation":
        listed = [thing for thing in named(model, proof.what) if model.has(thing, "isolated")]
        jacks = [thing for thing in listed or model.back if model.has(thing, "isolated") and thing.id in model.handles]
        if proof.after:
            after = set(model.keys_of(proof.after))
            jacks = [thing for thing in jacks if model.handles[thing.id].firm in after]
        mains.join_isolation(model, key, jacks)
    elif sort == "look":
        _look(model, key, proof)


def _sort_in_order(model: Model, proof: Proof) -> str:
    """The sort of a proof at its time.

    An earth proof of something that closes the amp is one that is made again. A voltage that is recorded as measured when a
    valve is in is no stage before that valve.
    """
    sort = classify(proof)
    if sort == "earth" and _closed(model, proof):
        return "earth again"
    late = {valve.id for valve in (power.valves(model) if sort == "lamp" else power.output_valves(model))}
    late |= {each.id for each in model.job.proofs if each is not proof and classify(each) == "current"}
    return "" if sort in _BEFORE_VALVES and any(name in late for name, _ in proof.after) else sort


def _closed(model: Model, proof: Proof) -> list[Thing]:
    """What a proof measures again: the closing things that it comes after or, where it does not say, those that it names."""
    if _guards_mains(model, proof):
        return []
    if proof.after:
        after = {name for name, _ in proof.after}
        return [thing for thing in model.back if thing.id in after and model.has(thing, *mains.CLOSING)]
    ears = [thing for thing in model.back if model.has(thing, "ear")] if re.search(r"\bears?\b", proof.what, re.IGNORECASE) else []
    return ears + [thing for thing in named(model, proof.what)
                   if model.has(thing, *mains.CLOSING) and not thing.kind.lower().startswith("chassis")]


def _guards_mains(model: Model, proof: Proof) -> bool:
    guarded = set(mains.mains_keys(model))
    return any(key in guarded for key in model.keys_of(proof.before))


def again(model: Model, key: Key, proof: str, closed: list[Thing]) -> None:
    """A cover, ear or ring that was open is measured again when it is tight, and before anything lies over it."""
    for thing in closed:
        if thing.id in model.handles:
            model.drafts.join([model.handles[thing.id].last], [key], "earth-again", (proof, thing.id))
            for above in model.covers(thing.id):
                if not model.has(above, "fixing"):
                    model.drafts.join([key], model.entry(above), "earth-again", (proof, above.id), Strength.HABIT)


def _unplugged(model: Model) -> None:
    """A board that an insulation test says is unplugged is plugged in after it."""
    for proof in model.job.proofs:
        words = f"{proof.what} {proof.condition}"
        if classify(proof) == "insulation" and re.search(r"unplug|disconnect", words, re.IGNORECASE):
            for board in [thing for thing in named(model, words) if model.has(thing, "board")]:
                plugs = [(f"J{pin}", host) for (host, pin), ends in model.joints.items()
                         if host == board.id and any(end.how == "plugged" for _, end, _ in ends)]
                model.drafts.join([("prove", proof.id)], plugs, "insulation", (proof.id, board.id), Strength.HABIT)


def _look(model: Model, key: Key, proof: Proof) -> None:
    """The hidden side of a board is looked at when its joints are made, and before it goes down."""
    boards = [thing for thing in named(model, proof.what) if model.has(thing, "board")]
    for board, made in hidden_joints(model).items():
        if boards and board not in {thing.id for thing in boards}:
            continue
        if proof.after and not set(made) & set(model.keys_of(proof.after)):
            continue
        join_look(model, key, board, made)


def join_look(model: Model, key: Key, board: str, made: list[Key]) -> None:
    """After the joints of a hidden side, before the board."""
    model.drafts.join(made, [key], "proof-after", (board,), Strength.RECORD)
    model.drafts.join([key], [model.handles[board].entry], "hidden-side-first", (board,), Strength.RECORD)


def hidden_joints(model: Model) -> dict[str, list[Key]]:
    """Board → the joints on its hidden side."""
    found: dict[str, list[Key]] = defaultdict(list)
    for (host, pin), ends in model.joints.items():
        if host in model.handles and any(is_hidden(model, thing, end) for thing, end, _ in ends):
            found[host].append((f"J{pin}", host))
    return found


def named(model: Model, words: str) -> list[Thing]:
    """The things that words name: by id as a whole word, by their name, or by a kind that only one thing is of."""
    spoken = set(_WORD.findall(words.lower()))
    text = f" {' '.join(_WORD.findall(words.lower()))} "
    kinds = Counter(_plain(thing.kind) for thing in model.back)
    return [thing for thing in model.back
            if thing.id.lower() in spoken or (len(thing.name) > 3 and f" {_plain(thing.name)} " in text)
            or (kinds[_plain(thing.kind)] == 1 and len(thing.kind) > 4 and f" {_plain(thing.kind)} " in text)]


def _plain(name: str) -> str:
    return " ".join(_WORD.findall(re.split(r"[(,]", name.lower())[0]))
