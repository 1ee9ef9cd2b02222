"""The steps that one removal has of its own, in their order, and where others hook on to them."""

from __future__ import annotations

from dataclasses import dataclass

from app.reassembly.planner.drafts import Drafts, Key
from app.reassembly.planner.removals import FIXED, PANEL_MOUNTED, Removal
from app.reassembly.planner.steps import Step

_FAR_SIDE = {"top": "under", "under": "top", "outside": "inside", "inside": "outside"}


@dataclass(frozen=True)
class Handles:
    """Steps of a removal that others wait for, or that wait for others.

    `entry`: covers what the removal lay over. `through`: covers what its stack goes through. `seat`: in
    place, so that fixings can go in. `snug`: fixed finger tight. `firm`: fixed for good, save what its host
    tightens. `last`: nothing of its own remains.
    """

    entry: Key
    through: Key
    seat: Key
    snug: Key
    firm: Key
    last: Key

    @classmethod
    def single(cls, key: Key) -> Handles:
        """All in one step."""
        return cls(key, key, key, key, key, key)


def own_steps(drafts: Drafts, removal: Removal) -> Handles:
    """Add a removal's own steps to the drafts, joined in their order."""
    if removal.kind in PANEL_MOUNTED:
        handles = _panel_mounted(drafts, removal)
    elif removal.kind == "bolt":
        handles = _bolt(drafts, removal)
    elif removal.kind == "earth_bolt":
        handles = _earth_bolt(drafts, removal)
    else:
        handles = Handles.single(_add(drafts, removal, "", removal.id, _words("fit", removal), removal.side))
        if removal.kind == "protective_earth":
            words = f"Clean the land of {_name(removal)} to bright metal"
            land = _add(drafts, removal, "CL", "CL", words, removal.side)
            drafts.join([land], [handles.seat])
    if removal.fate == "hold":
        words = f"Decide what becomes of {_name(removal)}"
        hold = _add(drafts, removal, "HOLD", f"HOLD_{removal.id}", words, None)
        drafts.join([hold], {key for key in drafts.every() if key[1] == removal.id} - {hold})
    return handles


def _panel_mounted(drafts: Drafts, removal: Removal) -> Handles:
    """Inner hardware, body, outer washers, nut finger tight, nut tight, knob: what of these there is."""
    cut = removal.stack.index("chassis") if "chassis" in removal.stack else len(removal.stack)
    outer = removal.stack[:cut]
    inner = [piece for piece in removal.stack[cut + 1 :] if piece not in FIXED]
    washers = [piece for piece in outer if "washer" in piece or "bush" in piece]
    name = _name(removal)
    chain: list[tuple[str, str, str]] = []
    if inner:
        chain.append(("IN", "inside", f"{name}: {', then '.join(reversed(inner))} on the bush"))
    chain.append(("BODY", "inside", f"{_words('seat', removal)}; key or tab located"))
    if washers:
        chain.append(("OVER", "outside", f"{name}: {', then '.join(reversed(washers))}"))
    chain.append(("NUT", "outside", f"{name}: nut finger tight"))
    chain.append(("TIGHT", "outside", f"{name}: tighten"))
    if any("knob" in piece for piece in outer):
        chain.append(("KNOB", "outside", f"{name}: knob on, at its mark"))
    keys = [_add(drafts, removal, what, f"{what}_{removal.id}", words, side) for what, side, words in chain]
    for before, then in zip(keys, keys[1:], strict=False):
        drafts.join([before], [then])
    at = {key[0]: key for key in keys}
    return Handles(at["BODY"], at.get("OVER", at["NUT"]), at["NUT"], at["NUT"], at["TIGHT"], keys[-1])


def _bolt(drafts: Drafts, removal: Removal) -> Handles:
    """The bolt from its side; then its stack on the far side, finger tight."""
    near = removal.side or "top"
    entering = f"{_words('enter', removal)} with its head washer"
    bolt = _add(drafts, removal, "B", f"B{removal.id}", entering, near)
    words = f"{_name(removal)}: {_far_stack(removal)}, finger tight"
    stack = _add(drafts, removal, "N", f"N{removal.id}", words, _FAR_SIDE.get(near, near))
    drafts.join([bolt], [stack])
    return Handles(bolt, bolt, bolt, stack, stack, stack)


def _earth_bolt(drafts: Drafts, removal: Removal) -> Handles:
    """A bolt whose far stack is the earth's: land cleaned first, lock-nut only after the cross-tightening."""
    near = removal.side or "top"
    far = _FAR_SIDE.get(near, near)
    name = _name(removal)
    entering = f"{_words('enter', removal)} with its head washer"
    bolt = _add(drafts, removal, "B", f"B{removal.id}", entering, near)
    land = _add(drafts, removal, "CL", "CL", f"Clean the land at {name} to bright metal", far)
    words = f"{name}: earth stack: {_far_stack(removal)}, finger tight"
    stack = _add(drafts, removal, "E", f"E{removal.id}", words, far)
    drafts.join([bolt, land], [stack])
    last = stack
    if any(piece.replace(" ", "-") in ("lock-nut", "locknut") for piece in removal.stack):
        last = _add(drafts, removal, "LK", "LK", f"{name}: lock-nut on and tight", far)
        drafts.join([stack], [last])
    return Handles(bolt, bolt, bolt, stack, last, last)


def _far_stack(removal: Removal) -> str:
    """The pieces beyond the chassis in the order they go on: from the metal outward."""
    if "chassis" not in removal.stack:
        return "stack as recorded"
    beyond = removal.stack[removal.stack.index("chassis") + 1 :]
    return ", then ".join(piece for piece in beyond if piece not in FIXED and "lock" not in piece)


def _add(drafts: Drafts, removal: Removal, what: str, name: str, label: str, side: str | None) -> Key:
    work = what in ("", "BODY", "B")
    return drafts.add(
        (what, removal.id),
        Step(
            name,
            label=label,
            unit=removal.unit,
            side=side,
            place=removal.place if side else None,
            minutes=removal.minutes if work else 0.0,
            unattended_minutes=removal.unattended_minutes if work else 0.0,
        ),
    )


def _name(removal: Removal) -> str:
    return removal.label or removal.id


def _words(verb: str, removal: Removal) -> str:
    return f"{verb.capitalize()} {'the new ' if removal.fate == 'replace' else ''}{_name(removal)}"
