"""The steps that one thing has of its own, in their order, and where others hook on to them."""

from __future__ import annotations

from dataclasses import dataclass

from app.reassembly.planner.drafts import Drafts, Key
from app.reassembly.planner.kinds import usual_acts
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.steps import Step
from app.reassembly.planner.things import Act, Role, Thing

_FAR_SIDE = {"top": "under", "under": "top", "outside": "inside", "inside": "outside"}
# Bracketed words of a stack that are other things: the metal it goes through, and what is held with it.
_NOT_ITSELF = ("chassis", "insert", "sleeve", "ring", "tag", "captive", "cage", "baffle", "cabinet", "panel", "hook")
_WORDS: dict[Role, str] = {"prep": "{}: prepare", "fit": "Fit {}", "over": "{}: outer washers on", "snug": "{}: finger tight",
                           "tight": "{}: tighten", "trim": "{}: finish"}
_AWAITED: dict[Role, str] = {"prep": "{} to be prepared", "fit": "{} to be in place", "over": "the outer washers of {}",
                             "snug": "{} to be finger tight", "tight": "{} to be tight", "trim": "{} to be finished"}
_SUBJECT: dict[Role, str] = {"prep": "Preparing {}", "fit": "{}", "over": "The outer washers of {}", "snug": "{}, finger tight,",
                             "tight": "Tightening {}", "trim": "Finishing {}"}


@dataclass(frozen=True)
class Handles:
    """Acts of a thing that others wait for, or that wait for others.

    `entry`: covers what the thing lay over; it is in place then, so that fixings and ends can go in. `beyond`: the
    first act after that. `snug`: fixed finger tight. `firm`: fixed for good, save what its host tightens. `last`:
    nothing of its own remains. `acts`: all of them, by role.
    """

    entry: Key
    beyond: Key
    snug: Key
    firm: Key
    last: Key
    acts: tuple[tuple[Role, Key], ...]

    def role(self, *roles: Role) -> Key | None:
        """The first act of one of these roles."""
        return next((key for role, key in self.acts if role in roles), None)


def own_acts(drafts: Drafts, thing: Thing, traits: frozenset[str], inner: str) -> Handles | None:
    """Add a thing's own steps to the drafts, joined in their order; None for a lead, which has none.

    `inner`: what the job calls the side that is wired, "inside" or "under".
    """
    listed = [act if isinstance(act, Act) else _act(thing, act, traits, inner)
              for act in (usual_acts(thing, traits) if thing.acts is None else thing.acts)]
    keys = [_add(drafts, thing, act, traits) for act in listed]
    waiting: list[Key] = []
    for act, key in zip(listed, keys, strict=True):
        if act.apart:
            waiting.append(key)
            continue
        drafts.join(waiting, [key], "own-order", (thing.id,), Strength.NATURE)
        waiting = [key]
    if thing.fate == "hold" and keys:
        words = f"Decide what becomes of {thing.title}"
        hold = drafts.add(("HOLD", thing.id), Step(f"HOLD_{thing.id}", label=words, unit=thing.unit))
        drafts.join([hold], keys, "fate", (thing.id,), Strength.RECORD)
    if not keys:
        return None
    roles = tuple((act.role, key) for act, key in zip(listed, keys, strict=True))
    by_role = dict(reversed(roles))
    entry = by_role.get("fit", keys[0])
    after = keys[keys.index(entry) + 1 :]
    beyond = next((key for role, key in roles if key in after and role in ("over", "snug", "tight", "trim")), entry)
    snug = by_role.get("snug", entry)
    return Handles(entry, beyond, snug, by_role.get("tight", snug), keys[-1], roles)


def _add(drafts: Drafts, thing: Thing, act: Act, traits: frozenset[str]) -> Key:
    work = act.role == "fit"
    step = Step(act.name, label=act.label, unit=thing.unit, side=act.side, place=thing.place if act.side else None,
                minutes=thing.minutes if work else 0.0, unattended_minutes=thing.unattended_minutes if work else 0.0)
    return drafts.add((act.code, thing.id), step, subject=_SUBJECT[act.role].format(thing.title),
                      awaited=_AWAITED[act.role].format(thing.title), rank=rank_of(traits))


def _act(thing: Thing, role: Role, traits: frozenset[str], inner: str) -> Act:
    words = _WORDS[role].format(f"the new {thing.title}" if role == "fit" and thing.fate in ("replace", "new") else thing.title)
    side = _side(thing, role, traits)
    return Act(role, role, f"{thing.id}.{role}", words[0].upper() + words[1:], inner if side in ("inside", "under") else side)


def _side(thing: Thing, role: Role, traits: frozenset[str]) -> str | None:
    """Where one stands for an act: by where in its stack the thing itself, the metal and the nuts lie, from outside in.

    What is recorded on the wired side is put in from there; a nut beyond the metal is turned on the other side of it.
    """
    own = thing.side
    if own is None or own not in _FAR_SIDE:
        return own
    metal, body, nutted = _metal_body_nut(thing, traits)
    if metal is None:
        return own
    putting, far = role in ("prep", "fit"), _FAR_SIDE[own]
    if own in ("inside", "under"):
        if putting:
            return own
        return own if nutted is (body > metal) else "outside"
    if putting:
        return far if body > metal else own
    return far if nutted else own


def _metal_body_nut(thing: Thing, traits: frozenset[str]) -> tuple[int | None, int, bool]:
    """Where in its stack the chassis and the thing's own body lie, from outside in, and whether a nut lies beyond the chassis."""
    for stack in thing.stacks:
        metal = _index(stack.pieces, "chassis")
        if metal < len(stack.pieces):
            nutted = any("nut" in piece and "back-nut" not in piece for piece in stack.pieces[metal + 1 :])
            return metal, body_index(stack.pieces, traits), nutted
    return None, 0, False


def _index(pieces: tuple[str, ...], word: str) -> int:
    return next((index for index, piece in enumerate(pieces) if piece.startswith("(") and word in piece), len(pieces))


def body_index(pieces: tuple[str, ...], traits: frozenset[str]) -> int:
    """Where the thing itself lies in its stack: at its bracketed word that is no metal; a fixing outermost, else innermost."""
    if "fixing" in traits:
        return -1
    own = (index for index, piece in enumerate(pieces) if piece.startswith("(") and not _foreign(piece))
    return next(own, len(pieces))


def passes_beyond(pieces: tuple[str, ...], piece: str, traits: frozenset[str]) -> bool:
    """Whether a thing is put in place before `piece` of its stack, and only held through it afterwards.

    True when the piece lies on the far side of the metal from the body, or outside the body.
    """
    at, body, metal = pieces.index(piece), body_index(pieces, traits), _index(pieces, "chassis")
    return at < body or body < metal < at


def _foreign(piece: str) -> bool:
    return any(word in piece for word in _NOT_ITSELF)


def rank_of(traits: frozenset[str]) -> int:
    """The trade's preference among steps that are equal otherwise: heavy first, then as it comes, glass and covers last.

    (Common practice, no source.)
    """
    if traits & {"mains transformer", "output transformer", "choke"}:
        return 0
    if traits & {"valve", "retainer", "can", "lamp"}:
        return 3
    return 4 if traits & {"cover", "cabinet"} else 1
