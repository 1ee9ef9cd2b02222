"""The chain of a supply as it is drawn: the rail from top to bottom, a resistor between two nodes, a bar for the volts left."""

from __future__ import annotations

from dataclasses import dataclass

from app.discharge.rules.chain import Plan
from app.measuring.rules import say

WIDE, ROW, TOP = 400.0, 84.0, 34.0
RAIL, BAR, BAR_END = 26.0, 58.0, 318.0


@dataclass(frozen=True)
class NodeDrawn:
    """One node: where it lies, its words, the resistor above it, how long its bar is and whether it is over the limit."""

    y: float
    name: str
    held: str
    above: str
    length: float
    volts: str
    over: bool
    stick: bool


@dataclass(frozen=True)
class ChainDrawn:
    """A chain in units of the picture; `limit_x` is where the limit lies on the bars; `words` stand for it where it is not seen."""

    height: float
    nodes: tuple[NodeDrawn, ...]
    limit_x: float
    limit: str
    words: str


def draw(plan: Plan) -> ChainDrawn:
    """The chain with the volts that a plan leaves. The bars run to the volts at the start of the node that holds the most."""
    top = max(plan.limit_v * 2.5, *(one.left_v for one in plan.nodes))
    scale = (BAR_END - BAR) / top
    nodes = tuple(NodeDrawn(TOP + number * ROW, one.name, f"{one.capacitors} · {say(one.farad, 'F', 3)}",
                            say(one.fed_ohm, "Ω", 3) if number else "", max(one.left_v * scale, 1.0), volts(one.left_v),
                            one.left_v >= plan.limit_v, number == 0)
                  for number, one in enumerate(plan.nodes))
    told = "; ".join(f"{one.name} {volts(one.left_v)}" for one in plan.nodes)
    return ChainDrawn(TOP + (len(nodes) - 1) * ROW + 24, nodes, BAR + plan.limit_v * scale, say(plan.limit_v, "V"),
                      f"Calculated after {seconds(plan.held_s)} with the stick on {plan.nodes[0].name}: {told}.")


def volts(value: float) -> str:
    """'42 V', '0.7 V': two digits below ten, none behind the point above."""
    return f"{value:.0f} V" if value >= 9.95 else f"{value:.1f} V"


def seconds(value: float) -> str:
    """'8.6 s', '75 s', '12 min': rounded up, since a hand waits for it."""
    if value < 10:
        return f"{-(-value * 10 // 1) / 10:g} s"
    return f"{-(-value // 1):.0f} s" if value < 180 else f"{-(-value // 60):.0f} min"
