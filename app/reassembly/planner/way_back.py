"""From the removal ledger to the steps of the way back.

Geometry comes from the ledger: what was under goes back first, a stack inner to outer. The rest are rules of
the trade that a strip-down worked backwards would miss: fix mechanically before soldering; align before
tighten; the protective earth on and measured before any other mains lead; each joint soldered once, with
every end in; isolation measured; a count at every closure. (Common practice, no source.)
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from app.reassembly.planner.closures import Closures
from app.reassembly.planner.drafts import Drafts, Key
from app.reassembly.planner.own_steps import Handles, own_steps
from app.reassembly.planner.removals import PANEL_MOUNTED, Removal
from app.reassembly.planner.steps import DoubleStep, Step, UnknownStep

_FIXINGS = ("screw", "bolt", "earth_bolt")
_EARTHS = ("earth_bolt", "protective_earth")
_LEADS = ("mains_lead", "wire")
_PROOFS = ("CT", "PE", "ISO", "IR", "V")
_ISO: Key = ("ISO", "")


def steps_for(removals: Iterable[Removal], *, earthed: bool = True) -> tuple[Step, ...]:
    """The steps that put the removals back, with all that each waits for and nothing implied twice.

    What is scrapped or given back without replacement has no step; what lay under it and what lay over it
    keep their order. What is on hold waits for a step that decides its fate. A count ends every unit, goes
    before every cover, and ends the whole job when it has more than one end. `earthed=False`: the amp has no
    protective earth (class II).
    Raises DoubleStep, UnknownStep (an `under` that is no removal) and CircularSteps.
    """
    return _drafted(removals, earthed).steps()


def origins(removals: Iterable[Removal], *, earthed: bool = True) -> dict[str, Key]:
    """Step id → what it does ("BODY", "PE", "CT" …; "" is the fitting itself) and for which removal or unit."""
    drafts = _drafted(removals, earthed)
    return {drafts.step(key).id: key for key in drafts.every()}


def _drafted(removals: Iterable[Removal], earthed: bool) -> Drafts:
    things: dict[str, Removal] = {}
    for each in sorted(removals, key=lambda removal: removal.seq):
        if each.id in things:
            raise DoubleStep(each.id)
        things[each.id] = each
    way = _WayBack(things)
    way.fixings()
    way.geometry()
    way.soldering()
    way.earth(earthed)
    way.proofs()
    Closures(way.drafts, way.things, way.handles).join()
    return way.drafts


class _WayBack:
    def __init__(self, things: dict[str, Removal]) -> None:
        self.things = things
        self.back = [each for each in things.values() if each.goes_back]
        self.drafts = Drafts()
        self.handles: dict[str, Handles] = {}
        for each in things.values():
            self._group("CT", each.unit or "", "Count every class of piece", each)
            if each.goes_back:
                self.handles[each.id] = own_steps(self.drafts, each)
        self.over = self._lying_over()
        self.together: dict[str, set[str]] = defaultdict(set)
        for each in things.values():
            if each.kind in PANEL_MOUNTED:
                self.together[self._panel_of(each)].add(each.id)
            elif each.kind in _FIXINGS and each.on:
                self.together[each.on].add(each.id)

    def _group(self, what: str, owner: str, label: str, of: Removal, side: str | None = None) -> Key:
        """A step that several removals share; `of` says where it is done."""
        place = of.place if side else None
        step = Step(what, label=label, unit=of.unit, side=side, place=place, proof=what in _PROOFS)
        return self.drafts.add((what, owner), step)

    def _lying_over(self) -> dict[str, list[str]]:
        """For each removal all that lay over it: what it was under, what fixed it, what went through it."""
        over = {each.id: list(each.under) for each in self.things.values()}
        for each in self.things.values():
            for name in each.under:
                if name not in self.things:
                    raise UnknownStep(name, f"{each.id} (under)")
            hosts = {piece for piece in each.stack if piece in self.things}
            if each.on in self.things and each.kind in _FIXINGS + PANEL_MOUNTED:
                hosts.add(each.on)
            for host in hosts - {each.id}:
                over[host].append(each.id)
        return over

    # Mechanical fixing

    def fixings(self) -> None:
        """Align before tighten; fixings finger tight before any of a host is tight."""
        for each in self.back:
            if each.kind in PANEL_MOUNTED:
                self._align(each, self._panel_of(each))
            elif each.kind in _FIXINGS and each.on in self.things:
                self._tighten(each, self.things[each.on])

    def _panel_of(self, control: Removal) -> str:
        panels = [piece for piece in control.stack if piece in self.things]
        return panels[0] if panels else control.on or control.place or ""

    def _align(self, control: Removal, panel: str) -> None:
        handles = self.handles[control.id]
        key = self._group("ALIGN", panel, "Align everything before tightening", control, "outside")
        self.drafts.join([handles.snug], [key])
        self.drafts.join([key], [handles.firm])

    def _tighten(self, fixing: Removal, host: Removal) -> None:
        handles = self.handles[fixing.id]
        if host.kind == "panel":
            key = self._group("ALIGN", host.id, "Align everything before tightening", host, "outside")
        elif fixing.kind == "screw":
            key = self._group("TG", host.id, f"Tighten {host.label or host.id}", host, fixing.side)
        else:
            words = f"Cross-tighten {host.label or host.id}"
            key = self._group("X", host.id, words, host, self.drafts.step(handles.snug).side)
        self.drafts.join([handles.snug], [key])
        if handles.firm != handles.snug:
            self.drafts.join([key], [handles.firm])

    def _firm(self, host: str) -> list[Key]:
        """All that must be done before anything is soldered to a host."""
        handles = self.handles.get(host)
        return self._tightening_of(host) + ([handles.firm] if handles else [])

    # Geometry

    def geometry(self) -> None:
        """What was under what goes back first; through things that do not go back, too."""
        for each in self.back:
            fellows = self._fellows(each)
            for name in self._covers(each.id):
                self.drafts.join(self._laid(each, name, fellows), [self._covering(each, name)])

    def _covers(self, name: str) -> list[str]:
        """What goes back next over a thing."""
        found: dict[str, None] = {}
        heap = list(self.over[name])
        seen: set[str] = set()
        while heap:
            above = heap.pop()
            if above not in seen:
                seen.add(above)
                if self.things[above].goes_back:
                    found[above] = None
                else:
                    heap += self.over[above]
        return list(found)

    def _fellows(self, thing: Removal) -> set[str]:
        """All that is tightened together with a thing, or tightens it."""
        if thing.kind in PANEL_MOUNTED:
            return self.together[self._panel_of(thing)] | self.together[thing.id]
        if thing.kind in _FIXINGS and thing.on:
            return self.together[thing.on] | self.together[thing.id]
        return self.together[thing.id]

    def _laid(self, thing: Removal, above: str, fellows: set[str]) -> list[Key]:
        """The steps of a thing that must be done before what goes over it.

        All of them, unless what tightens the thing goes on over that other one: then it need only be in place.
        """
        handles = self.handles[thing.id]
        if fellows & self._stacked_on(above):
            return [handles.snug]
        host = thing.on if thing.kind in _FIXINGS and thing.on else thing.id
        return [handles.last, *self._tightening_of(thing.id), *self._tightening_of(host)]

    def _stacked_on(self, name: str) -> set[str]:
        """A thing and all that lies over it, directly or not."""
        found: set[str] = set()
        heap = [name]
        while heap:
            above = heap.pop()
            if above not in found:
                found.add(above)
                heap += self.over[above]
        return found

    def _covering(self, thing: Removal, above: str) -> Key:
        """The step of what goes over that covers the thing."""
        handles = self.handles[above]
        return handles.through if thing.id in self.things[above].stack else handles.entry

    def _tightening_of(self, host: str) -> list[Key]:
        return [("ALIGN", host), ("TG", host), ("X", host)]

    # Soldering

    def soldering(self) -> None:
        """Fix mechanically first; solder a joint once, when every end at that pin is in."""
        for each in self.back:
            hosts = {host for host, _ in each.joints}
            if each.on and each.kind in _LEADS:
                hosts.add(each.on)
            for host in sorted(hosts):
                self._hang_on(each, host)
            for host, pin in each.joints:
                self.drafts.join([self.handles[each.id].last], [self._joint(each, host, pin)])

    def _joint(self, lead: Removal, host: str, pin: str) -> Key:
        words = f"Solder {pin} of {host}, every end in"
        return self._group(f"J{pin}", host, words, self.things.get(host, lead), lead.side)

    def _hang_on(self, lead: Removal, host: str) -> None:
        """A lead goes on to a host that is firm; one that is clamped by the host's own fixing is soldered then."""
        entry = self.handles[lead.id].entry
        if not self.together[host] & self._stacked_on(lead.id):
            self.drafts.join(self._firm(host), [entry])
            return
        if host in self.handles:
            self.drafts.join([self.handles[host].seat], [entry])
        self.drafts.join(self._firm(host), [self._joint(lead, at, pin) for at, pin in lead.joints])

    def _made(self, lead: Removal) -> list[Key]:
        """The steps after which a lead is joined."""
        return [self.handles[lead.id].last, *((f"J{pin}", host) for host, pin in lead.joints)]

    # Proofs

    def earth(self, earthed: bool) -> None:
        """Protective earth on and measured before any other mains conductor is joined."""
        earths = [each for each in self.back if each.kind in _EARTHS]
        mains = [each for each in self.back if each.kind == "mains_lead"]
        if not earthed or not (earths or mains):
            return
        words = "Measure the protective earth from its pin to the chassis and to every frame it bonds"
        key = self._group("PE", "", words, (earths or mains)[0])
        for each in earths:
            self.drafts.join(self._made(each) + self._tightening_of(each.id) + self._holding(each), [key])
        for each in mains:
            self.drafts.join([key], [self.handles[each.id].entry, *self._made(each)])
        later = self.drafts.behind([key])
        for each in earths:
            # A host that mains leads lie under cannot be firm by then.
            self.drafts.join(set(self._firm(each.on or "")) - later, [key])

    def _holding(self, earth: Removal) -> list[Key]:
        """What makes an earth tight: an earth bolt's own host, and fixings that lie over it, save those of a lid."""
        found = self._tightening_of(earth.on or "") if earth.kind == "earth_bolt" else []
        lids = self._stacked_on(earth.id)
        for name in self._covers(earth.id):
            fixing = self.things[name]
            if fixing.kind in _FIXINGS and fixing.on not in lids:
                found += [self.handles[name].last, *self._tightening_of(fixing.on or "")]
        return found

    def proofs(self) -> None:
        """Isolation of jacks, insulation of a mains transformer, the pins of a base."""
        for each in self.back:
            if each.kind == "jack_isolated":
                words = "Measure that isolated jacks are clear of the chassis"
                self._group("ISO", "", words, each)
                self.drafts.join([self.handles[each.id].firm], [_ISO])
        for each in self.things.values():
            if each.kind == "mains_transformer":
                self._insulation(each)
            elif each.kind == "valve_base":
                self._verify(each)

    def _insulation(self, host: Removal) -> None:
        leads = [each for each in self.back if each.on == host.id and each.kind in _LEADS
                 or any(at == host.id for at, _ in each.joints)]
        if leads or host.goes_back:
            words = f"Insulation test of {host.label or host.id}"
            key = self._group("IR", host.id, words, host)
            self.drafts.join(self._firm(host.id), [key])
            self.drafts.join([made for lead in leads for made in self._made(lead)], [key])

    def _verify(self, host: Removal) -> None:
        joints = [key for key in self.drafts.every() if key[1] == host.id and key[0].startswith("J")]
        if joints:
            words = f"Verify {host.label or host.id} pin to pin: ends counted, no strays"
            self.drafts.join(joints, [self._group("V", host.id, words, host)])
