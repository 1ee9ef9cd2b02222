"""Today's removal records as things: a kind brings its acts, its step names and where each is done."""

from __future__ import annotations

from app.reassembly.planner.removals import CAPTIVE, FIXED, PANEL_MOUNTED, Removal
from app.reassembly.planner.things import JOINS, Act, End, Role, Stack, Thing

_FAR_SIDE = {"top": "under", "under": "top", "outside": "inside", "inside": "outside"}
# Kinds that a record could not name before 0.2.0: their steps are the usual acts of such a thing.
USUAL_ACTS = frozenset(("valve", "output_valve", "valve_rectifier", "retainer", "fuse", "fuse_holder", "inlet", "choke",
                        "output_transformer", "tag_board", "printed_board", "screening_box", "can_capacitor", "lamp", "standoff",
                        "clamp", "speaker", "reverb_tank", "chassis"))
_METAL = {piece: f"({piece})" for piece in FIXED}


def thing_of(removal: Removal, known: frozenset[str] = frozenset()) -> Thing:
    """One removal as a thing. `known`: ids of all removals, among which a control finds the panel it is aligned on."""
    panel = None
    if removal.kind in PANEL_MOUNTED:
        panel = next((piece for piece in removal.stack if piece in known), None) or removal.on or removal.place or ""
    stacks = [Stack(tuple(_piece(piece) for piece in removal.stack))] if removal.stack else []
    stacks += [Stack((name,), count) for name, count in removal.fasteners.items()]
    return Thing(
        removal.id, removal.label or removal.id, removal.kind, _acts(removal), removal.seq, removal.side, removal.place,
        removal.unit, removal.under, removal.on, tuple(stacks), _ends(removal), removal.fate, panel, removal.minutes,
        removal.unattended_minutes)


def _ends(removal: Removal) -> tuple[End, ...]:
    """Each end with how it is joined again; what the record does not say is left to the planner."""
    hows = [JOINS.get(word, "soldered") for word in removal.lifted] or ["soldered"] * len(removal.ends)
    hidden = removal.hidden or (False,) * len(removal.ends)
    return tuple(End(host, pin, how, out_of_sight or None)
                 for (host, pin), how, out_of_sight in zip(removal.joints, hows, hidden, strict=True))


def _piece(piece: str) -> str:
    return f"({piece})" if piece.endswith(CAPTIVE) else _METAL.get(piece, piece)


def _acts(removal: Removal) -> tuple[Act, ...] | None:
    """The acts of a record, as whole Acts with names that never change; None where the kind's usual ones do."""
    if removal.kind in USUAL_ACTS:
        return None
    if removal.kind in PANEL_MOUNTED:
        return _panel_mounted(removal)
    if removal.kind == "bolt":
        return _bolt(removal)
    if removal.kind == "earth_bolt":
        return _earth_bolt(removal)
    fit = Act("fit", "", removal.id, _words("fit", removal), removal.side)
    if removal.kind == "protective_earth":
        return (Act("prep", "CL", "CL", f"Clean the earth contact area of {_name(removal)} to bright metal", removal.side), fit)
    return (fit,)


def _panel_mounted(removal: Removal) -> tuple[Act, ...]:
    """Inner hardware, body, outer washers, nut finger tight, nut tight, knob: what of these there is."""
    cut = removal.stack.index("chassis") if "chassis" in removal.stack else len(removal.stack)
    outer = removal.stack[:cut]
    inner = [piece for piece in removal.stack[cut + 1 :] if piece not in FIXED]
    washers = [piece for piece in outer if "washer" in piece or "bush" in piece]
    name = _name(removal)
    chain: list[tuple[Role, str, str, str]] = []
    if inner:
        chain.append(("prep", "IN", "inside", f"{name}: {', then '.join(reversed(inner))} on the thread"))
    chain.append(("fit", "BODY", "inside", f"{_words('seat', removal)}; key or tab located"))
    if washers:
        chain.append(("over", "OVER", "outside", f"{name}: {', then '.join(reversed(washers))}"))
    chain.append(("snug", "NUT", "outside", f"{name}: nut finger tight"))
    chain.append(("tight", "TIGHT", "outside", f"{name}: tighten"))
    if any("knob" in piece for piece in outer):
        chain.append(("trim", "KNOB", "outside", f"{name}: knob on, at its mark"))
    return tuple(Act(role, code, f"{code}_{removal.id}", words, side) for role, code, side, words in chain)


def _bolt(removal: Removal) -> tuple[Act, ...]:
    """The bolt from its side; then its stack on the far side, finger tight."""
    near = removal.side or "top"
    words = f"{_name(removal)}: {_far_stack(removal)}, finger tight"
    return (Act("fit", "B", f"B{removal.id}", f"{_words('insert', removal)} with its head washer", near),
            Act("snug", "N", f"N{removal.id}", words, _FAR_SIDE.get(near, near)))


def _earth_bolt(removal: Removal) -> tuple[Act, ...]:
    """A bolt whose far stack is the earth's: land cleaned first, lock-nut only after the cross-tightening."""
    near = removal.side or "top"
    far = _FAR_SIDE.get(near, near)
    name = _name(removal)
    acts = [Act("fit", "B", f"B{removal.id}", f"{_words('insert', removal)} with its head washer", near),
            Act("prep", "CL", "CL", f"Clean the earth contact area at {name} to bright metal", far, apart=True),
            Act("snug", "E", f"E{removal.id}", f"{name}: earth stack: {_far_stack(removal)}, finger tight", far)]
    if any(piece.replace(" ", "-") in ("lock-nut", "locknut") for piece in removal.stack):
        acts.append(Act("tight", "LK", "LK", f"{name}: lock-nut on and tight", far))
    return tuple(acts)


def _far_stack(removal: Removal) -> str:
    """The pieces beyond the chassis in the order they go on: from the metal outward."""
    if "chassis" not in removal.stack:
        return "stack as recorded"
    beyond = removal.stack[removal.stack.index("chassis") + 1 :]
    return ", then ".join(piece for piece in beyond if piece not in FIXED and "lock" not in piece)


def _name(removal: Removal) -> str:
    return removal.label or removal.id


def _words(verb: str, removal: Removal) -> str:
    return f"{verb.capitalize()} {'the new ' if removal.fate == 'replace' else ''}{_name(removal)}"
