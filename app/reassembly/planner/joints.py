"""Joints: fixed first, every end in, made once; clamped ends before the clamp; hidden sides before the board. (Rules 3, 6.)"""

from __future__ import annotations

from app.reassembly.planner.drafts import Key
from app.reassembly.planner.geometry import is_hidden
from app.reassembly.planner.model import BODIES, Model, joint_key
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.things import End, Thing


def joints(model: Model) -> None:
    """Every joint of the job, and the acts it waits for or holds up."""
    for (host, pin), ends in model.joints.items():
        if all(end.how == "clamped" for _, end, _ in ends):
            for thing, end, key in ends:
                _clamp(model, thing, end, key)
        else:
            _join(model, host, pin, ends)
    for thing in model.back:
        if thing.id in model.handles and thing.at_once:
            for host in sorted({end.host for end in thing.ends} | ({thing.on} if thing.on and model.has(thing, "lead") else set())):
                _hang_on(model, thing, host)
    _into_the_cabinet(model)
    for base in [thing for thing in model.back if model.has(thing, "base")]:
        _heater_first(model, base)


def _into_the_cabinet(model: Model) -> None:
    """A lead from the cabinet that was off before the chassis came out is joined at the chassis when that is in again."""
    for cabinet in [thing for thing in model.back if model.has(thing, "cabinet") and thing.id in model.handles]:
        for lead in model.back:
            hosts = {end.host for end in lead.ends}
            stays = {host for host in hosts if model.has(model.things.get(host), "speaker", "tank")}
            if stays and hosts - stays and lead.seq < cabinet.seq and lead.id not in model.handles:
                mine = [(f"J{end.pin}", end.host) for end in lead.ends if end.host not in stays]
                model.drafts.join([model.handles[cabinet.id].last], mine, "under", (lead.id, cabinet.id), Strength.HABIT)


def is_in_hand(model: Model, thing: Thing, end: End) -> bool:
    """Whether an end belongs to a small board's own part: joined with the board in the hand."""
    host = model.things.get(end.host)
    if host is None or not model.has(host, "small board") or thing.id == host.id or _is_body(model, thing):
        return False
    if thing.unit != host.unit or any(other.host != host.id for other in thing.ends):
        return False
    return model.has(thing, "part") or len(thing.ends) > 1  # one end alone is of a lead that goes elsewhere


def _join(model: Model, host: str, pin: str, ends: list[tuple[Thing, End, Key]]) -> None:
    joint = (f"J{pin}", host)
    hidden = any(is_hidden(model, thing, each) for thing, each, _ in ends)
    in_hand = all(is_in_hand(model, thing, each) for thing, each, _ in ends)
    for thing, each, key in ends:
        model.drafts.join([key], [joint], "every-end-in", (thing.id,), Strength.NATURE)
        _own_body(model, thing, each, key, joint, hidden)
    if host not in model.handles:
        return
    if hidden:
        model.drafts.join([joint], [model.handles[host].entry], "hidden-side-first", (host, *(thing.id for thing, _, _ in ends)),
                          Strength.RECORD)
    elif in_hand:
        _fill_first(model, host, joint)
    elif not all(thing.at_once and _flies(model, thing) for thing, _, _ in ends):
        model.drafts.join(model.firm(host), [joint], "fix-before-solder", (host,))
        placed = model.firm(host) if model.has(model.things[host], "base") else [model.handles[host].entry]
        for thing, _, key in ends:
            if not thing.at_once:
                model.drafts.join(placed, [key], "on-its-host", (thing.id, host))


def _own_body(model: Model, thing: Thing, end: End, key: Key, joint: Key, hidden: bool) -> None:
    """A body is in place before its ends are, and fixed for good before they are joined: never on a hidden side."""
    handles = model.handles.get(thing.id)
    if handles is None or thing.at_once:
        return
    model.drafts.join([handles.entry], [key], "on-its-host", (thing.id,))
    if not hidden:
        model.drafts.join(model.firm(thing.id), [joint], "body-before-leads", (thing.id, end.host))


def _is_body(model: Model, thing: Thing) -> bool:
    """Whether a thing has work of its own beside its ends; a lead of today's records goes in together with them."""
    return thing.id in model.handles and not (thing.at_once and model.has(thing, "lead", "part") and not thing.stacks)


def _fill_first(model: Model, board: str, joint: Key) -> None:
    """The parts of a small board before the leads that wire it in."""
    for (host, pin), ends in model.joints.items():
        if host == board and not all(is_in_hand(model, thing, end) for thing, end, _ in ends):
            model.drafts.join([joint], [(f"J{pin}", host)], "board-filled-first", (board,), Strength.HABIT)


def _clamp(model: Model, thing: Thing, end: End, key: Key) -> None:
    """A clamped end: its host in place, the end laid on, then the clamp."""
    if thing.id in model.handles and not thing.at_once:
        model.drafts.join([model.handles[thing.id].entry], [key], "on-its-host", (thing.id,))
    if end.host in model.handles:
        host = model.handles[end.host]
        model.drafts.join([host.entry], [key], "on-its-host", (thing.id, end.host))
        if host.firm != host.entry:
            model.drafts.join([key], [host.firm], "clamped-end", (thing.id, end.host))
        model.drafts.join([key], model.tightening(end.host), "clamped-end", (thing.id, end.host))


def _flies(model: Model, thing: Thing) -> bool:
    """Whether a thing of today's records goes on to its host, as a lead or a small part does, and not a body with leads."""
    under_its_host = bool(set(thing.under) & {end.host for end in thing.ends})
    return not model.has(thing, *BODIES) and (model.has(thing, "lead") or not under_its_host)


def _hang_on(model: Model, lead: Thing, host: str) -> None:
    """A lead goes on to a host that is firm; one that is clamped by the host's own fixing is soldered then.

    On the hidden side it is joined before the host goes down. A body waits for none of the hosts of its leads.
    """
    here = [end for end, _ in model.ends[lead.id] if end.host == host]
    if not here and model.has(model.things.get(host), "clamp"):  # it is held there, not joined: soldered when it is held
        joints = [joint_key(end) for end, _ in model.ends[lead.id]]
        model.drafts.join([model.handles[host].firm] if host in model.handles else [], joints, "body-before-leads", (lead.id, host),
                          Strength.HABIT)
        return
    if here and all(end.how == "clamped" for end in here) and _turns(model, host):
        return  # it lies in before that is tight
    if here and all(is_in_hand(model, lead, end) for end in here):
        return  # joined with the board in the hand, before or after that is fixed
    mine = [(f"J{end.pin}", end.host) for end in here]
    if any(is_hidden(model, lead, end) for end, _ in model.ends[lead.id] if end.host == host):
        return
    if not _flies(model, lead):
        model.drafts.join(model.firm(host), mine, "fix-before-solder", (lead.id, host))
        if model.has(lead, *BODIES):
            model.drafts.join(model.firm(lead.id), mine, "body-before-leads", (lead.id, host))
        return
    entry = model.entry(lead)
    fixing = {each.id for each in (*model.fixings.get(host, ()), *model.aligned.get(host, ()))}
    if not fixing & model.stacked_on(lead.id):
        model.drafts.join(model.firm(host), entry, "fix-before-solder", (lead.id, host))
        return
    if host in model.handles:
        model.drafts.join([model.handles[host].entry], entry, "on-its-host", (lead.id, host))
    model.drafts.join(model.firm(host), mine, "fix-before-solder", (lead.id, host))


def _turns(model: Model, host: str) -> bool:
    """Whether a thing is tightened in a step of its own."""
    return host in model.handles and model.handles[host].firm != model.handles[host].entry


def _heater_first(model: Model, base: Thing) -> None:
    """At a base the ends of the heater pair before all others; what shares a pin with it is of the pair."""
    at = [(thing, end, key) for thing, end, key in model.ends_at.get(base.id, ()) if end.how != "clamped"]
    heater = [row for row in at if row[1].own_class == "heater" or is_heater(model, row[0])]
    pins = {end.pin for _, end, _ in heater}
    others = [key for _, end, key in at if end.pin not in pins]
    for lead, _, key in heater:
        model.drafts.join([key], others, "heater-first", (lead.id, base.id))


def is_heater(model: Model, lead: Thing) -> bool:
    """Whether a lead is the heater pair: by its words, or as it goes along several bases at their heater pins only.

    Heater pins: octal 2 and 7 (EL34, 6L6GC), noval 4, 5 and 9 (ECC83 = 12AX7, EL84); from memory of valve handbooks.
    """
    if model.has(lead, "heater") and not _is_body(model, lead):
        return True
    at: dict[str, set[str]] = {}
    for end in lead.ends:
        at.setdefault(end.host, set()).add(end.pin)
    along = len(at) > 1 and all(model.has(model.things.get(host), "base") for host in at)
    return along and not _is_body(model, lead) and all(pins in ({"2", "7"}, {"4", "5"}, {"4", "9"}, {"4", "5", "9"})
                                                          for pins in at.values())
