"""Today's removal records as things: a kind brings its acts, its step names and where each is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.reassembly.planner.removals import CAPTIVE, FIXED, FIXINGS, PANEL_MOUNTED, Removal
from app.reassembly.planner.things import JOINS, Act, End, Role, Stack, Thing

_FAR_SIDE = {"top": "under", "under": "top", "outside": "inside", "inside": "outside"}
# Kinds that a record could not name before 0.2.0: their steps are the usual acts of such a thing.
USUAL_ACTS = frozenset(("valve", "output_valve", "valve_rectifier", "retainer", "fuse", "fuse_holder", "inlet", "choke",
                        "output_transformer", "tag_board", "printed_board", "screening_box", "can_capacitor", "lamp", "standoff",
                        "clamp", "speaker", "reverb_tank", "chassis"))
_METAL = {piece: f"({piece})" for piece in FIXED}


# Kinds whose several stacks are done in one go: alike fixings, and what their own acts say already.
_WHOLE = (*FIXINGS, *PANEL_MOUNTED, "protective_earth")
_PANELS = ("fascia", "panel", "bezel", "plate", "board", "cover")
# Words of a stack that carry the protective earth.
_EARTHING = ("ring", "earth tag", "earth lead")


@dataclass(frozen=True)
class Around:
    """Ids of all removals; of what holds ends of others by its own tightening; of what goes in late, as valves and covers do."""

    known: frozenset[str] = frozenset()
    clamping: frozenset[str] = frozenset()
    late: frozenset[str] = frozenset()


_ALONE = Around()
_LATE = ("valve", "output_valve", "valve_rectifier", "cover", "screening_box")


def around(removals: Iterable[Removal]) -> Around:
    """What each record must know of the others."""
    listed = tuple(removals)
    clamping = {host for each in listed for (host, _), how in zip(each.joints, _hows(each), strict=False)
                if how == "clamped" and host != each.id}
    return Around(frozenset(each.id for each in listed), frozenset(clamping),
                  frozenset(each.id for each in listed if each.kind in _LATE))


def thing_of(removal: Removal, others: Around = _ALONE) -> Thing:
    """One removal as a thing."""
    panel = None
    if removal.kind in PANEL_MOUNTED:
        through = next((piece for piece in removal.stack if piece in others.known), None)
        # What goes through the bare chassis is tightened by itself; a panel that stayed on is aligned on all the same.
        bare = bool(removal.stack) and through is None and not any(word in piece for piece in removal.stack for word in _PANELS)
        panel = through or removal.on or (None if bare else removal.place or "")
    stacks = [Stack(tuple(_piece(piece) for piece in stack.pieces), stack.times) for stack in removal.stacks]
    stacks += [Stack((name,), count) for name, count in removal.fasteners.items()]
    return Thing(
        removal.id, removal.label or removal.id, removal.kind, _acts(removal, others), removal.seq, removal.side,
        removal.place, removal.unit, removal.under, removal.on, tuple(stacks), _ends(removal), removal.fate, panel,
        removal.also_on, removal.cavity, removal.closes, removal.minutes, removal.unattended_minutes)


def _ends(removal: Removal) -> tuple[End, ...]:
    """Each end with how it is joined again; what the record does not say is left to the planner."""
    hidden = removal.hidden or (False,) * len(removal.ends)
    carries = removal.classes or ("",) * len(removal.ends)
    return tuple(End(host, pin, how, out_of_sight or None, own_class=own)
                 for (host, pin), how, out_of_sight, own in zip(removal.joints, _hows(removal), hidden, carries, strict=True))


def _hows(removal: Removal) -> list[str]:
    return [JOINS.get(word, "soldered") for word in removal.lifted] or ["soldered"] * len(removal.ends)


def _piece(piece: str) -> str:
    return f"({piece})" if piece.endswith(CAPTIVE) else _METAL.get(piece, piece)


def _acts(removal: Removal, others: Around) -> tuple[Act | Role, ...] | None:
    """The acts of a record, as whole Acts with names that never change; None where the kind's usual ones do.

    A body with several stacks is brought finger tight, then tightened.
    """
    if removal.kind in ("mains_transformer", "output_transformer", "choke") and _earthing(removal):
        words = f"Clean the earth contact area of {_name(removal)} to bright metal"
        return (Act("prep", "prep", f"{removal.id}.prep", words, _FAR_SIDE.get(removal.side or "", removal.side), apart=True),
                "fit", "snug", "tight", *_lock_nut(removal))
    if removal.kind in USUAL_ACTS or (_several(removal) and removal.kind not in _WHOLE):
        return None
    if not removal.stacks and _end_by_end(removal, others.late):
        return ()
    if removal.kind in PANEL_MOUNTED:
        return _panel_mounted(removal)
    if removal.kind == "bolt":
        return _bolt(removal)
    if removal.kind == "earth_bolt":
        return _earth_bolt(removal)
    fit = Act("fit", "", removal.id, _words("fit", removal), removal.side)
    turn = Act("tight", "TIGHT", f"TIGHT_{removal.id}", f"{_name(removal)}: tighten", removal.side)
    tight = (turn,) if _turned(removal, removal.id in others.clamping) else ()
    if removal.kind == "protective_earth":
        clean = Act("prep", "CL", "CL", f"Clean the earth contact area of {_name(removal)} to bright metal", removal.side)
        return (clean, fit, *tight)
    return (fit, *tight)


def _end_by_end(removal: Removal, late: frozenset[str]) -> bool:
    """Whether a lead goes in end by end, because one end would hold the other up.

    From a hidden side to where one still reaches; from a valve or a cover to the wiring; clamped by what another is soldered to.
    """
    hosts = {host for host, _ in removal.joints}
    if len(set(removal.hidden)) == 2 or (hosts & late and hosts - late):
        return True
    held = {host for (host, _), how in zip(removal.joints, _hows(removal), strict=False) if how == "clamped"}
    return any(host in held and how != "clamped" for (host, _), how in zip(removal.joints, _hows(removal), strict=False))


def _lock_nut(removal: Removal) -> tuple[Act, ...]:
    """The lock-nut of an earth corner, after all corners are tight."""
    locked = any(piece.replace(" ", "-").startswith(("lock-nut", "locknut")) for stack in removal.stacks for piece in stack.pieces)
    side = _FAR_SIDE.get(removal.side or "", removal.side)
    return (Act("trim", "trim", f"{removal.id}.trim", f"{_name(removal)}: lock-nut on and tight", side),) if locked else ()


def _several(removal: Removal) -> bool:
    return sum(stack.times for stack in removal.stacks) > 1


def _earthing(removal: Removal) -> bool:
    """Whether one of several stacks differs from the others by what carries the protective earth: an earth corner."""
    return len(removal.stacks) > 1 and any(word in piece.lower() for stack in removal.stacks for piece in stack.pieces
                                           for word in _EARTHING)


def _turned(removal: Removal, clamps: bool) -> bool:
    """Whether its nut is turned in a step of its own: what others clamp under it lies in before, and a new stud is new work."""
    nutted = any("nut" in piece for stack in removal.stacks for piece in stack.pieces)
    return nutted and (clamps or (removal.fate == "new" and removal.kind == "protective_earth"))


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
    return f"{verb.capitalize()} {'the new ' if removal.fate in ('replace', 'new') else ''}{_name(removal)}"
