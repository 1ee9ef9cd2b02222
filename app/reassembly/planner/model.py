"""A job laid out: its things by id, what each of them does, its steps in the making, and who lies over, holds or meets whom."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from app.reassembly.planner.acts import Handles, own_acts
from app.reassembly.planner.drafts import Drafts, Key
from app.reassembly.planner.kinds import traits_of
from app.reassembly.planner.steps import DoubleStep, Step, UnknownStep
from app.reassembly.planner.things import End, Event, Job, Thing

_VERBS = {"soldered": "Solder", "plugged": "Plug in", "twisted": "Twist on"}
INNER = ("inside", "under")
PANEL_MOUNTED = frozenset({"control", "jack", "lamp"})
# What is wired by leads that fly to it; its own leads never hold it back.
BODIES = frozenset({"mains transformer", "output transformer", "choke", "board", "speaker", "tank", "valve", "can capacitor"})


class Model:
    """Everything that the rules look at. The rules join `drafts`; nothing else changes."""

    def __init__(self, job: Job, *, strict: bool = True) -> None:
        """Lay a job out. `strict`: an `under` that names nothing is refused; else it is noted in `unknown` and passed over."""
        self.job = job
        self.strict = strict
        self.unknown: list[tuple[str, str]] = []
        self.things: dict[str, Thing] = {}
        for thing in sorted(job.things, key=lambda each: each.seq):
            if thing.id in self.things:
                raise DoubleStep(thing.id)
            self.things[thing.id] = thing
        for thing in list(self.things.values()):
            self.things[thing.id] = self._hosted(thing)
        self.traits = {thing.id: traits_of(thing) for thing in self.things.values()}
        self.back = [thing for thing in self.things.values() if self.returns(thing)]
        self.inner = _inner_side(job.things)
        self.boards = [thing for thing in self.back if self.has(thing, "board")]
        self.drafts = Drafts()
        self.handles: dict[str, Handles] = {}
        self.ends: dict[str, list[tuple[End, Key]]] = defaultdict(list)
        self.joints: dict[tuple[str, str], list[tuple[Thing, End, Key]]] = defaultdict(list)
        for thing in self.things.values():
            if not job.proofs:
                self.shared("CT", thing.unit or "", "Count every class of piece", thing, proof=True)
            if self.returns(thing):
                self._lay_out(thing)
        self._lay_joints()
        self.mains: list[Key] | None = None
        self.over = self._lying_over()
        self.panels: dict[str, str | None] = {thing.id: self._panel_of(thing) for thing in self.things.values()}
        self.fixings: dict[str, list[Thing]] = defaultdict(list)
        self.aligned: dict[str, list[Thing]] = defaultdict(list)
        self.tied: dict[str, str] = {}
        self.together: dict[str, list[str]] = {}
        for thing in self.things.values():
            self._group(thing)

    def _hosted(self, thing: Thing) -> Thing:
        """A fixing that does not say what it is fixed to holds what its stack names first."""
        if thing.at_once or thing.on or "fixing" not in traits_of(thing):
            return thing
        return replace(thing, on=next((piece for piece in thing.pieces if piece in self.things), None))

    def returns(self, thing: Thing) -> bool:
        """Whether it goes back. A capacitor from the line to the chassis never does (rule 9; common practice, no source)."""
        return thing.goes_back and "hazard" not in self.traits[thing.id]

    def has(self, thing: Thing | None, *traits: str) -> bool:
        """Whether a thing has one of these traits."""
        return thing is not None and not self.traits[thing.id].isdisjoint(traits)

    def _lay_out(self, thing: Thing) -> None:
        handles = own_acts(self.drafts, thing, self.traits[thing.id], self.inner)
        if handles is not None:
            self.handles[thing.id] = handles
        placed = self.handles[thing.id].last if thing.at_once else None
        for end in thing.ends:
            key = placed or self.drafts.add(
                (f"in {end.at}", thing.id),
                Step(f"{thing.id}>{end.at}", label=f"{thing.title}: {end.colour + ' ' if end.colour else ''}end in at {end.at}",
                     side=self.inner, place=self._place_of(thing, end), unit=thing.unit if end.hidden else None),
                subject=f"The end of {thing.title} at {end.at}", awaited=f"the end of {thing.title} at {end.at} to be in")
            self.ends[thing.id].append((end, key))
            self.joints[end.host, end.pin].append((thing, end, key))

    def _lay_joints(self) -> None:
        """A step for every joint that is made; an end that is only clamped needs none."""
        self.made_at: dict[str, list[Key]] = defaultdict(list)
        self.ends_at: dict[str, list[tuple[Thing, End, Key]]] = defaultdict(list)
        for (host, pin), ends in self.joints.items():
            self.ends_at[host] += ends
            self.made_at[host].append((f"J{pin}", host))
            if any(end.how != "clamped" for _, end, _ in ends):
                first, how = ends[0][0], next(end.how for _, end, _ in ends if end.how != "clamped")
                words = f"{_VERBS[how]} {pin} of {host}, every end in"
                where, side = self.things.get(host, first), first.side if first.at_once else self.inner
                key = self.shared(f"J{pin}", host, words, where, side, awaited=f"the joint at {host}:{pin}")
                if not first.at_once and not any(end.hidden for _, end, _ in ends) and self.drafts.step(key).unit != first.unit:
                    self.drafts.change(key, unit=None)

    def _place_of(self, thing: Thing, end: End) -> str | None:
        """Where one end is joined: at its host, if that is among the things."""
        host = self.things.get(end.host)
        return host.place if host is not None and host.place else thing.place

    def _lying_over(self) -> dict[str, list[str]]:
        """For each thing all that lay over it: what it was under, what fixed it, what went through it."""
        over = {thing.id: [name for name in thing.under if name in self.things] for thing in self.things.values()}
        for thing in self.things.values():
            for name in thing.under:
                if name not in self.things:
                    if self.strict:
                        raise UnknownStep(name, f"{thing.id} (under)")
                    self.unknown.append((thing.id, name))
            hosts = {piece for piece in thing.pieces if piece in self.things}
            if thing.on in self.things and (self.has(thing, "fixing") or thing.align is not None):
                hosts.add(thing.on)
                hosts |= {name for name in thing.also_on if name in self.things}
            for host in sorted(hosts - {thing.id}):
                over[host].append(thing.id)
        return over

    def _group(self, thing: Thing) -> None:
        if self.has(thing, "fixing"):
            for host in dict.fromkeys(filter(None, (thing.on, *thing.also_on))):
                self.fixings[host].append(thing)
            self._tie(thing)
        elif (panel := self.panel_of(thing)) is not None:
            self.aligned[panel].append(thing)

    def _tie(self, fixing: Thing) -> None:
        """What one fixing holds is tightened together: each host of it points to the first of them in the ledger."""
        hosts = [name for name in dict.fromkeys((fixing.on or "", *fixing.also_on)) if name in self.things]
        if len(hosts) > 1:
            names = {name for host in hosts for name in self.together.pop(self.tied_to(host), [host])}
            first = min(names, key=lambda name: (self.things[name].seq, name))
            self.tied |= dict.fromkeys(names, first)
            self.together[first] = sorted(names, key=lambda name: (self.things[name].seq, name))

    def tied_to(self, host: str) -> str:
        """The thing in whose name the fixings of a host are tightened: itself, unless a shared fixing holds others with it."""
        return self.tied.get(host, host)

    def held_with(self, host: str) -> list[Thing]:
        """All that is tightened in one with a host, itself among them."""
        return [self.things[name] for name in self.together.get(self.tied_to(host), [host])]

    def panel_of(self, thing: Thing) -> str | None:
        """What a thing is aligned on with its fellows: as recorded, or the loose panel that its stack goes through."""
        return self.panels[thing.id]

    def _panel_of(self, thing: Thing) -> str | None:
        if thing.align is not None:
            return thing.align
        if not self.has(thing, *PANEL_MOUNTED):
            return None
        through = [piece for piece in thing.pieces if piece in self.things and self.has(self.things[piece], "panel")]
        lying = [name for name, names in self.over.items() if thing.id in names and self.has(self.things[name], "panel")]
        return next(iter((*through, *lying)), None)

    # Who holds whom

    def fellows(self, thing: Thing) -> set[str]:
        """All that is tightened together with a thing, or tightens it."""
        names = {thing.id} | ({thing.on, *thing.also_on} if thing.on and self.has(thing, "fixing") else set())
        panel = self.panel_of(thing)
        found = {each.id for name in names for each in (*self.fixings[name], *self.aligned[name])}
        return found | ({each.id for each in (*self.aligned[panel], *self.fixings[panel])} if panel is not None else set())

    def stacked_on(self, name: str) -> set[str]:
        """A thing and all that lies over it, directly or not."""
        found: set[str] = set()
        heap = [name]
        while heap:
            above = heap.pop()
            if above not in found:
                found.add(above)
                heap += self.over[above]
        return found

    def covers(self, name: str) -> list[Thing]:
        """What goes back next over a thing, through things that do not go back."""
        found: dict[str, None] = {}
        heap = list(self.over[name])
        seen: set[str] = set()
        while heap:
            above = heap.pop()
            if above not in seen:
                seen.add(above)
                if self.returns(self.things[above]):
                    found[above] = None
                else:
                    heap += self.over[above]
        return [self.things[name] for name in found]

    # Keys that others wait for

    def entry(self, thing: Thing) -> list[Key]:
        """What puts a thing in place; of a lead the placing of each end."""
        return [self.handles[thing.id].entry] if thing.id in self.handles else [key for _, key in self.ends[thing.id]]

    def last(self, thing: Thing) -> list[Key]:
        """After these nothing remains to be done to a thing itself."""
        return [self.handles[thing.id].last] if thing.id in self.handles else self.made(thing)

    def made(self, thing: Thing) -> list[Key]:
        """After these a lead is joined at every end."""
        own = [self.handles[thing.id].last] if thing.id in self.handles else []
        return own + [key for _, key in self.ends[thing.id]] + [joint_key(end) for end, _ in self.ends[thing.id]]

    def under_of(self, name: str) -> tuple[str, ...]:
        """What something lay under, if it is among the things."""
        return self.things[name].under if name in self.things else ()

    def joints_at(self, host: str) -> list[Key]:
        """Every joint that is made at a host."""
        return self.made_at.get(host, [])

    def tightening(self, host: str) -> list[Key]:
        """The steps in which the fixings of a host, or what is aligned on it, are tightened together."""
        return [("ALIGN", host), ("TG", self.tied_to(host)), ("X", self.tied_to(host))]

    def firm(self, host: str) -> list[Key]:
        """All that must be done before anything is joined to a host: its own fixing, fixings of others, its clamp."""
        found = self.tightening(host)
        thing = self.things.get(host)
        if host in self.handles:
            found.append(self.handles[host].firm)
        found += [self.handles[each.id].firm for each in self.holding(host) if each.id in self.handles and not each.at_once]
        if thing is not None and thing.on in self.handles and self.has(self.things[thing.on], "clamp"):
            found.append(self.handles[thing.on].firm)
        return found

    def holding(self, host: str) -> list[Thing]:
        """The fixings that hold a host: fixed to it, or going through it as shared fixings do."""
        own = self.fixings.get(host, [])
        shared = [self.things[name] for name in self.over.get(host, ()) if self.has(self.things[name], "fixing")]
        return list({each.id: each for each in (*own, *shared)}.values())

    def shared(self, what: str, owner: str, label: str, of: Thing, side: str | None = None, *, proof: bool = False,
               awaited: str = "", powered: bool = False) -> Key:
        """A step that several things share; `of` says where it is done."""
        step = Step(what, label=label, unit=of.unit, side=side, place=of.place if side else None, proof=proof, powered=powered)
        return self.drafts.add((what, owner), step, awaited=awaited)

    def key_of(self, event: Event) -> Key | None:
        """The step of an event in the neutral form; None if the job has no such step."""
        name, act = event
        if act in ("prove", "count"):
            return (act, name) if (act, name) in self.drafts else None
        if act == "in":
            owner, _, at = name.partition(">")
            return next((key for end, key in self.ends.get(owner, ()) if end.at == at), None)
        if act == "join":
            host, _, pin = name.rpartition(":")
            return (f"J{pin}", host) if (f"J{pin}", host) in self.drafts else None
        return next((key for role, key in self.handles[name].acts if role == act), None) if name in self.handles else None

    def keys_of(self, events: Iterable[Event]) -> list[Key]:
        """The steps of the events that have one."""
        return [key for event in events if (key := self.key_of(event)) is not None]


def _inner_side(things: Iterable[Thing]) -> str:
    """What a job calls the side that is wired: "inside" or "under", which are one side of an open chassis."""
    sides = [thing.side for thing in things if thing.side in INNER and not thing.at_once]
    return max(INNER, key=sides.count)


def joint_key(end: End) -> Key:
    """The step in which the joint at an end's pin is made; a clamped end has none."""
    return (f"J{end.pin}", end.host)
