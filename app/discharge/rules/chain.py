"""What one stick does to a chain of supply capacitors, and what it bears. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from app.discharge.rules.listing import Capacitor, Supply
from app.electrics import ElectricsError, Limit, chain_left, discharge_chain, energy_hazard
from app.errors import BadInput
from app.measuring.rules import say


@dataclass(frozen=True)
class NodeLeft:
    """One node of a chain: its capacitors, farads and feeding ohms, volts left at the time, seconds until it is at the limit."""

    name: str
    capacitors: str
    farad: float
    fed_ohm: float | None
    left_v: float
    seconds: float
    when_first_v: float


@dataclass(frozen=True)
class Plan:
    """What a stick held on the first node does: `held_s` there, `first_s` until it is at the limit, `all_s` until all are."""

    supply: Supply
    nodes: tuple[NodeLeft, ...]
    from_v: float
    limit_v: float
    held_s: float
    first_s: float
    all_s: float
    rebound_v: float
    joule: float
    reached: tuple[str, ...]
    peak_a: float
    peak_w: float
    why_refused: str

    @property
    def peak_words(self) -> str:
        """'45 mA and 20.3 W'."""
        return f"{say(self.peak_a, 'A', 2)} and {say(self.peak_w, 'W', 3)}"

    @property
    def far(self) -> NodeLeft:
        """The node that holds the most when the first is at the limit."""
        return max(self.nodes, key=lambda one: one.when_first_v)


def plan(capacitors: Sequence[Capacitor], supply: Supply, *, stick_ohm: float, stick_w: float, limit_v: float,
         held_s: float | None = None, from_v: float | None = None) -> Plan | None:
    """For one supply of a list; from its highest working volts unless told. None where it has no capacitor.

    `held_s` in seconds; without it, the time until the first node is at the limit. BadInput for a stick out of range.
    """
    mine = [one for one in capacitors if one.supply is supply]
    if not mine:
        return None
    start = max(one.working_v for one in mine) if from_v is None else from_v
    nodes = _nodes(mine)
    farads, between = [sum(one.farad for one in node) for node in nodes], [max(node[0].fed_ohm or 0.0, 1e-3) for node in nodes[1:]]
    try:
        found = discharge_chain(farads=farads, between_ohm=between, from_v=start, to_v=min(limit_v, start), stick_ohm=stick_ohm,
                                stick_rated_w=stick_w)
        held = found.seconds if held_s is None else held_s
        left = chain_left(farads=farads, between_ohm=between, from_v=start, stick_ohm=stick_ohm, seconds=held)
    except ElectricsError as wrong:
        field = {"stick_ohm": "stick_ohm", "stick_rated_w": "stick_w", "seconds": "held_s"}.get(wrong.argument.split("[")[0])
        raise BadInput(str(wrong), field) from wrong
    rows = tuple(NodeLeft(node[0].node, ", ".join(one.name for one in node), farad, node[0].fed_ohm, volts, seconds, first)
                 for node, farad, volts, seconds, first in zip(nodes, farads, left, found.node_seconds, found.node_v,
                                                               strict=True))
    hazard = [energy_hazard(one.farad, start) for one in mine]
    reached = tuple(dict.fromkeys(one.name for each in hazard for one in each.reached))
    return Plan(supply, rows, start, limit_v, held, found.seconds, found.all_seconds, found.rebound_v,
                sum(one.joule for one in hazard), reached, found.stick_peak_a, found.stick_peak_w,
                _why_refused(found.limits, start, stick_ohm, found.stick_peak_w))


def _nodes(capacitors: Sequence[Capacitor]) -> list[list[Capacitor]]:
    """Those that lie across one another are one node."""
    found: list[list[Capacitor]] = []
    for one in capacitors:
        if found and one.fed_ohm == 0.0:
            found[-1].append(one)
        else:
            found.append([one])
    return found


def _why_refused(limits: Iterable[Limit], start: float, ohm: float, peak_w: float) -> str:
    """What the stick's own limits say against it, in words; empty if nothing that could be judged does."""
    above = next((one for one in limits if one.verdict == "above"), None)
    if above is None:
        return ""
    at_touch = above.unit == "A"
    what = "at first touch" if at_touch else "on average over the first 5 s"
    advice = f"take one of at least {say(start / above.allowed, 'Ω', 2)}" if at_touch else "take one of more watts, or of more ohms"
    return (f"{say(ohm, 'Ω')} into {say(start, 'V')} is {say(above.found, above.unit, 3)} {what}, {say(peak_w, 'W', 3)} peak; "
            f"at most {say(above.allowed, above.unit, 3)}. It burns the contact and can open the resistor, which then "
            f"discharges nothing. Put it away; {advice}.")
