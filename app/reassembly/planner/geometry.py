"""What lay under, goes through, sits in or hangs on something orders only the acts concerned. (Rules 6, 7 and 10.)"""

from __future__ import annotations

from app.reassembly.planner.acts import passes_beyond
from app.reassembly.planner.drafts import Key
from app.reassembly.planner.model import Model
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.things import End, Thing

_ALIGN = "Align everything before tightening"


def fixings(model: Model) -> None:
    """Align before tighten; the fixings of a host are finger tight before any of them is tight."""
    for thing in model.back:
        if model.has(thing, "fixing"):
            for host in dict.fromkeys((thing.on or "", *thing.also_on)):
                if host in model.things:
                    _tighten(model, thing, model.things[host])
        elif (panel := model.panel_of(thing)) is not None:
            _align(model, thing, panel)
    for board in model.boards:
        _align_with_board(model, board)


def _align(model: Model, thing: Thing, panel: str) -> None:
    """Everything on a panel, and the panel's own screws, are finger tight before anything is tight."""
    handles = model.handles.get(thing.id)
    if handles is None:
        return
    words = model.things[panel].title if panel in model.things else panel or "the panel"
    key = model.shared("ALIGN", panel, _ALIGN, thing, "outside", awaited=f"everything on {words} to be aligned")
    records = (thing.id, panel) if panel in model.things else (thing.id,)
    if handles.role("snug"):
        model.drafts.join([handles.snug], [key], "align", records)
    if handles.firm != handles.entry:
        model.drafts.join([key], [handles.firm], "align", records)
    host = model.handles.get(panel)
    if host is not None and host.role("snug"):
        model.drafts.join([host.snug], [key], "align", (panel,))
        if host.firm != host.snug:
            model.drafts.join([key], [host.firm], "align", (panel,))


def _tighten(model: Model, fixing: Thing, host: Thing) -> None:
    handles = model.handles.get(fixing.id)
    if handles is None:
        return
    if not model.has(host, "panel"):
        host = model.things[model.tied_to(host.id)]  # a shared fixing is tightened once, for all that it holds
    words = " and ".join(each.name or each.id for each in model.held_with(host.id)) or host.name or host.id
    if model.has(host, "panel"):
        key = model.shared("ALIGN", host.id, _ALIGN, host, "outside", awaited=f"everything on {words} to be aligned")
    elif fixing.kind == "screw":
        key = model.shared("TG", host.id, f"Tighten {words}", host, fixing.side, awaited=f"{words} to be tight")
    else:
        side = model.drafts.step(handles.snug).side
        key = model.shared("X", host.id, f"Cross-tighten {words}", host, side, awaited=f"{words} to be cross-tightened")
    model.drafts.join([handles.snug], [key], "fixings", (fixing.id, host.id))
    if handles.firm != handles.snug:
        model.drafts.join([key], [handles.firm], "fixings", (fixing.id, host.id))


def _align_with_board(model: Model, board: Thing) -> None:
    """What is mounted on a board and goes through the chassis lines up with it: all finger tight, then pot nuts, then pillars."""
    host = model.handles.get(board.id)
    mounted = [thing for thing in model.back if thing.id in model.handles and on_board(model, thing) is board
               and model.handles[thing.id].role("snug", "tight")]
    if host is None or not mounted or not host.role("snug", "tight"):
        return
    key = model.shared("ALIGN", board.id, f"Align {board.title} with what is mounted on it", board, board.side,
                       awaited=f"{board.title} and what is mounted on it to be aligned")
    for thing in (board, *mounted):
        handles = model.handles[thing.id]
        if handles.role("snug"):
            model.drafts.join([handles.snug], [key], "align", (thing.id, board.id))
        if handles.firm not in (handles.entry, handles.snug) or not handles.role("snug"):
            model.drafts.join([key], [handles.firm], "align", (thing.id, board.id))
        if thing is not board:
            held = handles.beyond if handles.role("fit") else handles.entry
            model.drafts.join([host.entry], [held], "seated-on", (thing.id, board.id))
            if model.has(thing, *("control", "jack")):
                model.drafts.join([handles.firm], [host.firm], "nuts-before-pillars", (thing.id, board.id))


def on_board(model: Model, thing: Thing) -> Thing | None:
    """The board that a base, pot or jack is part of.

    It is fixed to it, joined on its hidden side by pins of its own, goes through it, is of one sub-assembly with it, or
    came off a printed board before that could be lifted.
    """
    if not model.has(thing, "base", "control", "jack", "lamp"):
        return None
    names = [thing.on, *(end.host for end in thing.ends if end.hidden), *thing.pieces]
    boards = [model.things[name] for name in names if name and model.has(model.things.get(name), "board")]
    boards += [board for board in model.boards if thing.unit is not None and board.unit == thing.unit]
    boards += [board for board in model.boards if thing.id in board.under and model.has(board, "printed")]
    return next((board for board in boards if model.returns(board)), None)


def geometry(model: Model) -> None:
    """What was under what goes back first; through things that do not go back, too."""
    for thing in model.back:
        for above in model.covers(thing.id):
            _lay(model, thing, above)
        _seat(model, thing)


def _lay(model: Model, thing: Thing, above: Thing) -> None:
    records = (thing.id, above.id)
    if above.id not in model.handles:
        model.drafts.join(model.last(thing), model.entry(above), "under", records, Strength.HABIT)
        return
    if above.id in thing.pieces:
        # The thing goes through what it is said to lie under: only its own place comes first, if anything does.
        if thing.id not in above.under:
            model.drafts.join(model.entry(thing), model.entry(above), "stack", records, Strength.HABIT)
        return
    if model.has(thing, "pillar") and thing.id in above.pieces:
        model.drafts.join(model.last(thing), model.entry(above), "stack", records, Strength.RECORD)
        return
    if thing.id in above.pieces or (model.has(thing, "panel") and model.panel_of(above) == thing.id):
        model.drafts.join(model.entry(thing), [_through(model, thing, above)], "stack", records, Strength.RECORD)
        return
    if thing.id not in model.handles:
        _lay_lead(model, thing, above)
        return
    if on_board(model, above) is thing:
        model.drafts.join(model.entry(thing), [model.handles[above.id].beyond], "seated-on", records, Strength.RECORD)
        return
    if on_board(model, thing) is above:
        model.drafts.join(model.entry(thing), model.entry(above), "under", records, Strength.RECORD)
        return
    if thing.at_once and hidden_ends(model, thing, above.id):
        return  # its joints on the hidden side of what lay over it come before that
    model.drafts.join(_laid(model, thing, above), model.entry(above), "under", records, Strength.RECORD)
    if not thing.at_once and not model.has(above, "fixing", "panel", "control", "jack", "retainer", "can"):
        model.drafts.join(model.joints_at(thing.id), model.entry(above), "under", records, Strength.HABIT)


def _through(model: Model, thing: Thing, above: Thing) -> Key:
    """The act of what goes over a thing, through it, that must wait for it."""
    handles = model.handles[above.id]
    stack = next((stack.pieces for stack in above.stacks if thing.id in stack.pieces), None)
    return handles.entry if stack and not passes_beyond(stack, thing.id, model.traits[above.id]) else handles.beyond


def _lay_lead(model: Model, lead: Thing, above: Thing) -> None:
    """A lead under something: its ends there come first; one that ends elsewhere is at least laid first, as a habit."""
    if hidden_ends(model, lead, above.id):
        return
    elsewhere = [(end, key) for end, key in model.ends[lead.id] if end.host != above.id]
    within = [key for end, key in elsewhere if above.id in model.under_of(end.host)]
    model.drafts.join(within or [key for _, key in elsewhere], model.entry(above), "under", (lead.id, above.id), Strength.HABIT)


def _laid(model: Model, thing: Thing, above: Thing) -> list[Key]:
    """The steps of a thing that must be done before what goes over it.

    All of them, unless what tightens the thing goes on over that other one: then it need only be in place.
    """
    over = model.stacked_on(above.id)
    if model.fellows(thing) & over:
        return [model.handles[thing.id].snug]
    host = thing.on if model.has(thing, "fixing") and thing.on else thing.id
    held = [model.handles[each.id].firm for each in model.holding(thing.id)
            if each.id in model.handles and not each.at_once and each.id not in over]
    return [*model.last(thing), *held, *model.tightening(thing.id), *model.tightening(host)]


def hidden_ends(model: Model, thing: Thing, host: str) -> list[Key]:
    """The ends of a thing that are joined on the hidden side of a host.

    As recorded; where the record does not say, an end of a lead that lay under the very thing it is joined to.
    """
    return [key for end, key in model.ends.get(thing.id, ()) if end.host == host and is_hidden(model, thing, end)]


def is_hidden(model: Model, thing: Thing, end: End) -> bool:
    """Whether an end is joined on the hidden side of its host.

    As recorded, save that nobody reaches what is joined to a cover from within once it is on. Else that is where a lead ends
    that lay under the very thing it is joined to, and where the pins of a base on a board and the parts of a printed board
    are soldered.
    """
    host = model.things.get(end.host)
    if end.host in thing.under and end.how != "clamped" and not thing.at_once and model.has(host, "cover", "box"):
        return True
    if end.hidden is not None:
        return end.hidden
    if host is None or thing.at_once:
        return end.host in thing.under and model.has(thing, "lead")
    if model.has(host, "board") and end.how == "soldered" and thing.id != host.id:
        own = thing.unit is not None and thing.unit == host.unit and all(other.host == host.id for other in thing.ends)
        if on_board(model, thing) is host or (own and model.has(host, "printed") and model.has(thing, "part")):
            return True
    return end.host in thing.under and model.has(thing, "lead", "part")


def _seat(model: Model, thing: Thing) -> None:
    """What a thing sits in or on is firm before it; a clamp is loose until then, and tight after."""
    host = model.things.get(thing.on or "")
    if host is None or host.id not in model.handles or thing.id not in model.handles or model.has(thing, "fixing"):
        return
    lies_over = host.id in model.stacked_on(thing.id)
    if _flies_to(thing) and thing.kind == "mains_lead" and model.has(host, "clamp") and not lies_over:
        model.drafts.join([model.handles[host.id].entry], [model.handles[thing.id].entry], "seated-on", (thing.id, host.id))
        model.drafts.join([model.handles[thing.id].entry], [model.handles[host.id].firm], "clamped-end", (thing.id, host.id))
        return
    if thing.align is not None or on_board(model, thing) is host or lies_over or _flies_to(thing):
        return
    own, its = model.handles[thing.id], model.handles[host.id]
    if model.has(host, "clamp"):
        model.drafts.join([its.entry], [own.entry], "seated-on", (thing.id, host.id))
        if its.firm != its.entry:
            model.drafts.join([own.entry], [its.firm], "clamped-end", (thing.id, host.id))
        return
    rule = "base-before-valve" if model.has(thing, "valve") else "seated-on"
    sure = Strength.HABIT if thing.at_once else Strength.USUAL
    model.drafts.join(model.firm(host.id), [own.entry], rule, (thing.id, host.id), sure)


def _flies_to(thing: Thing) -> bool:
    """Whether a lead or small part of today's records, whose host is only where its ends are joined."""
    return thing.at_once and thing.kind in ("wire", "mains_lead", "protective_earth", "part")
