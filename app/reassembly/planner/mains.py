"""Protective earth, mains conductors, insulation, isolation: what is made, what measured, in which order. (Rules 1, 2 and 5.)"""

from __future__ import annotations

from app.reassembly.planner.drafts import Key
from app.reassembly.planner.model import Model, joint_key
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.things import End, Thing

_ISO: Key = ("ISO", "")
CLOSING = ("cover", "cabinet", "box", "ear", "panel")
_FRAME_PINS = ("frame", "earth", "pe", "ring", "stud", "corner", "chassis")
_MAINS_PINS = ("l", "n", "live", "neutral", "line")


def is_mains(model: Model, thing: Thing, end: End) -> bool:
    """Whether an end carries mains: of a mains conductor, or a flying primary, which ends where mains conductors do."""
    if end.own_class:
        return end.own_class == "mains"
    if is_earth(model, thing, end):
        return False
    if model.has(thing, "mains"):
        return True
    if not model.has(thing, "mains transformer"):
        return False
    return end.pin.lower() in _MAINS_PINS or end.pin.lower().startswith("pri") or _mains_host(model, end.host)


def is_earth(model: Model, thing: Thing, end: End) -> bool:
    """Whether an end is one of the protective earth: of a bond, or the green core of a cord."""
    if model.has(thing, "earth") or end.own_class == "bond":
        return True
    green = end.colour.lower().startswith("green") or model.has(model.things.get(end.host), "earth")
    framed = end.how == "clamped" and end.pin.lower().startswith(_FRAME_PINS)
    return model.has(thing, "mains") and (green or framed) and not end.own_class


def _mains_host(model: Model, host: str) -> bool:
    """Whether something carries mains only: mains conductors end at it, and it is no board."""
    if model.has(model.things.get(host), "board", "base"):
        return False
    return any(model.has(thing, "mains") and not model.has(thing, "earth") for thing, _, _ in model.ends_at.get(host, ()))


def mains_keys(model: Model) -> list[Key]:
    """Every placing and every joint of a mains conductor, flying primaries included. Looked for once in a job."""
    if model.mains is None:
        model.mains = _find_mains(model)
    return model.mains


def _find_mains(model: Model) -> list[Key]:
    found: dict[Key, None] = {}
    for thing in model.back:
        cored = any(is_earth(model, thing, end) for end in thing.ends)  # a cord with its earth core: told end by end
        if model.has(thing, "mains") and not model.has(thing, "earth") and thing.at_once and not cored:
            found |= dict.fromkeys([*model.entry(thing), *model.made(thing)])
    for ends in model.joints.values():
        for thing, end, key in ends:
            if is_mains(model, thing, end):
                if not thing.at_once:
                    found[key] = None
                if joint_key(end) in model.drafts:
                    found[joint_key(end)] = None
    return list(found)


def earths(model: Model) -> list[Thing]:
    """Studs, bolts and conductors of the protective earth that go back."""
    return [thing for thing in model.back if model.has(thing, "earth")]


def earth_made(model: Model) -> list[Key]:
    """After these the protective earth is whole: every end of it joined or clamped, every stud and clamp tight."""
    found: list[Key] = []
    for thing in earths(model):
        if thing.at_once:
            found += [*model.made(thing), *model.tightening(thing.id), *_holding(model, thing)]
            continue
        if thing.id in model.handles:
            found += [*model.last(thing), *model.tightening(thing.id), *_holding(model, thing)]
        for end, key in model.ends[thing.id]:
            # The bond of a cover is measured again when that is on.
            if not model.has(model.things.get(end.host), *CLOSING):
                found += [key, joint_key(end), *model.firm(end.host), *_locked(model, end)]
    for ends in model.joints.values():
        for thing, end, key in ends:
            if not model.has(thing, "earth") and is_earth(model, thing, end):
                found += [key, joint_key(end), *model.firm(end.host), *_locked(model, end)]
    return found


def _locked(model: Model, end: End) -> list[Key]:
    """The last act on what clamps an earth: its lock-nut."""
    return [model.handles[end.host].last] if end.how == "clamped" and end.host in model.handles else []


def frames(model: Model) -> list[Key]:
    """After these every frame that the earth proof measures is tight, where nothing of it waits for that proof."""
    found: list[Key] = []
    for thing in model.back:
        if model.has(thing, "mains transformer", "output transformer", "inlet") and not thing.at_once:
            found += model.firm(thing.id)
            if thing.id in model.handles and model.handles[thing.id].role("prep"):  # an earth corner, to its lock-nut
                found += model.last(thing)
    return found


def earth(model: Model) -> None:
    """The protective earth on and measured before any other mains conductor is joined; made by the planner itself."""
    listed, mains = earths(model), mains_keys(model)
    if not model.job.earthed or not (listed or mains):
        return
    words = "Measure the protective earth from its pin to the chassis and to every frame it bonds"
    first = listed or [thing for thing in model.back if model.has(thing, "mains", "mains transformer")] or model.back
    key = model.shared("PE", "", words, first[0], proof=True, awaited="the protective earth to be measured")
    join_earth(model, key, tuple(thing.id for thing in listed), mains)


def join_earth(model: Model, key: Key, records: tuple[str, ...], mains: list[Key], *, said: bool = False) -> None:
    """What an earth proof waits for, and what waits for it. `said`: it is recorded what it proves; the rest is then a habit."""
    model.drafts.join(earth_made(model), [key], "proof-after", records, Strength.HABIT if said else Strength.SAFETY)
    model.drafts.join([key], mains, "earth-first", records, Strength.SAFETY)
    later = model.drafts.behind([key])
    hosts = [firm for thing in earths(model) for firm in model.firm(thing.on or "")]
    # A host that mains leads lie under cannot be firm by then.
    model.drafts.join([firm for firm in (*hosts, *frames(model)) if firm not in later], [key], "proof-after", records,
                      Strength.HABIT if said else Strength.USUAL)


def _holding(model: Model, thing: Thing) -> list[Key]:
    """What makes an earth tight: an earth bolt's own host, and fixings that lie over it, save those of a lid."""
    found = model.tightening(thing.on or "") if model.has(thing, "fixing") else []
    lids = model.stacked_on(thing.id)
    for fixing in model.covers(thing.id):
        if model.has(fixing, "fixing") and fixing.on not in lids:
            found += [*model.last(fixing), *model.tightening(fixing.on or "")]
    return found


def isolation(model: Model) -> None:
    """Isolated jacks are measured clear of the chassis, before a 0 V lead is joined to one."""
    jacks = [thing for thing in model.back if model.has(thing, "isolated") and thing.id in model.handles]
    for thing in jacks:
        words = "Measure that isolated jacks are clear of the chassis"
        key = model.shared("ISO", "", words, thing, proof=True, awaited="isolated jacks to be measured clear of the chassis")
        join_isolation(model, key, [thing])


def join_isolation(model: Model, key: Key, jacks: list[Thing]) -> None:
    """After the jacks are tight; before the joints that would bridge them."""
    for thing in jacks:
        model.drafts.join([model.handles[thing.id].firm], [key], "proof-after", (thing.id,), Strength.RECORD)
        for (host, pin), ends in model.joints.items():
            if host == thing.id and _is_sleeve(pin):
                bridging = [at for _, end, at in ends if end.how == "clamped"]
                model.drafts.join([key], [(f"J{pin}", host), *bridging], "isolation", (thing.id,))


def _is_sleeve(pin: str) -> bool:
    """Whether a jack's pin may carry 0 V: any but tip, ring and switch contacts."""
    return not pin.lower().startswith(("tip", "ring", "t", "r", "sw", "n")) or pin.lower().startswith("sl")


def insulation(model: Model) -> None:
    """The usual insulation tests: of each mains transformer, when all its leads are joined."""
    for thing in model.things.values():
        if model.has(thing, "mains transformer"):
            _of_transformer(model, thing)


def plugs_at_boards(model: Model) -> set[Key]:
    """The plugs of mains transformers and of printed boards, which may carry semiconductors, save those of mains conductors."""
    mains = set(mains_keys(model))
    return {(f"J{pin}", host) for (host, pin), ends in model.joints.items()
            if model.has(model.things.get(host), "board") and (f"J{pin}", host) not in mains
            and any(end.how == "plugged" and (model.has(thing, "mains transformer") or model.has(model.things[host], "printed"))
                    for thing, end, _ in ends)}


def _of_transformer(model: Model, host: Thing) -> None:
    leads = [each for each in model.back if (each.on == host.id and model.has(each, "lead"))
             or any(end.host == host.id for end in each.ends) or each is host]
    leads = [each for each in leads if each is not host or each.ends]
    if not leads and not model.returns(host):
        return
    words = f"Insulation test of {host.name or host.id}"
    key = model.shared("IR", host.id, words, host, proof=True, awaited=f"the insulation test of {host.title}")
    model.drafts.join(model.firm(host.id), [key], "proof-after", (host.id,), Strength.RECORD)
    out = plugs_at_boards(model)  # what an insulation test must not reach is plugged in after it; a cover goes on later, too
    out |= {at for lead in leads for end, key in model.ends[lead.id] if model.has(model.things.get(end.host), "cover", "box")
            for at in (key, joint_key(end))}
    made = [key for lead in leads for key in model.made(lead) if key not in out]
    model.drafts.join(made, [key], "insulation", (host.id, *(lead.id for lead in leads)), Strength.RECORD)
