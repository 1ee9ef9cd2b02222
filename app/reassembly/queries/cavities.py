"""The way back by cavity: how far each is, its steps in plan order, and the joints of one thing as one sheet."""

from __future__ import annotations

import re
from dataclasses import dataclass

from app.reassembly import planner
from app.reassembly.queries.way import ReassemblyState
from app.reassembly.rules import CAVITY, JOINED
from app.removals.models import Removal
from app.removals.rules import WireEnd


@dataclass(frozen=True)
class CavityRows:
    """One cavity: as recorded, else the sub-assembly or place that steps belong to; `steps` in plan order, done ones first."""

    name: str
    steps: tuple[planner.Step, ...]
    done: int

    @property
    def left(self) -> int:
        return len(self.steps) - self.done


def by_cavity(way: ReassemblyState) -> list[CavityRows]:
    """Every step once, grouped, in the order in which the cavities are worked in."""
    groups: dict[str, list[planner.Step]] = {}
    listed = [way.steps[name] for name in way.done] + list(way.left)
    for step in listed:
        groups.setdefault(_cavity_of(way, step), []).append(step)
    rows = [CavityRows(name, tuple(steps), sum(step.id in way.records for step in steps)) for name, steps in groups.items()]
    return [row for row in rows if row.left] + [row for row in rows if not row.left]


def _cavity_of(way: ReassemblyState, step: planner.Step) -> str:
    what, owner = way.origins[step.id]
    if what == CAVITY:
        return owner
    removal = way.removal_of(step.id)
    if removal is None and what.startswith("J"):  # a joint at what stayed: where the first end of it lies
        removal = next((one for one in way.removals.values() for end in one.wire_ends
                        if end.pin == what[1:] and (end.host or one.fixed_to) == owner), None)
    if removal is not None and removal.cavity:
        return removal.cavity
    return step.unit or step.place or (removal.place if removal else "") or "the whole amp"


@dataclass(frozen=True)
class JointRow:
    """One pin with every end at it: whose, how it was lifted, and whether the joint or the end is done."""

    pin: str
    ends: tuple[tuple[Removal, WireEnd], ...]
    step: str
    done: bool


def joints_of(way: ReassemblyState, mark: str, *, hidden: bool = False) -> list[JointRow]:
    """The joints at one thing, its pins in order; `hidden`: those on the side that is out of sight."""
    pins: dict[str, list[tuple[Removal, WireEnd]]] = {}
    host = way.removals[mark]
    names = {mark.lower(), host.name.lower()}
    for one in way.removals.values():
        for end in one.wire_ends if one.fate.goes_back else ():
            at = end.host.lower() in names if end.host else host in one.holders or one.fixed_to.lower() in names
            if at and (end.hidden or not hidden):
                pins.setdefault(end.pin, []).append((one, end))
    steps = {what[1:]: name for name, (what, owner) in way.origins.items() if owner == mark and what.startswith("J")}
    return [JointRow(pin, tuple(ends), steps.get(pin, ""), steps.get(pin, "") in way.records)
            for pin, ends in sorted(pins.items(), key=lambda item: _in_order(item[0]))]


def host_of(way: ReassemblyState, step: str) -> str:
    """The mark of the thing at which a step joins something; "" if it joins nothing at a recorded thing."""
    what, owner = way.origins[step]
    if what.startswith(JOINED):
        owner = what.removeprefix(JOINED).rpartition(":")[0]
    elif not what.startswith("J") and what not in ("V", "LOOK"):
        return ""
    return owner if owner in way.removals else ""


def _in_order(pin: str) -> list[tuple[int, str]]:
    """Pin 2 before pin 10, a1 before b1."""
    return [(int(part), "") if part.isdigit() else (-1, part.lower()) for part in re.split(r"(\d+)", pin) if part]
