"""A circuit that is being made from a sheet: its nodes and parts by the sheet's names. Pure."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from app.circuits.rules.blocks import Block, field_of, tolerance_of
from app.circuits.rules.supply import Feed

if TYPE_CHECKING:
    from app.electrics import Circuit

GROUND = "0"


@dataclass(frozen=True)
class Node:
    """A place that can be read: its name, its block, and what it is of that block. grid: it stands at a grid leak. mains: volts
    of a winding; ripple: what rides on a supply.
    """

    name: str
    block: str
    what: str
    grid: bool = False
    mains: bool = False
    ripple: bool = False

    @property
    def ac(self) -> bool:
        """Whether it is read in volts AC."""
        return self.mains or self.ripple


@dataclass(frozen=True)
class PartOf:
    """A part of the circuit as the bench knows it."""

    block: str
    field: str
    words: str
    reference: str


@dataclass
class Assembled:
    """A sheet's circuit. feeds: what stands before each reservoir; sources: of each, the name of its source and resistance."""

    circuit: Circuit
    factor: float
    unknown: dict[str, tuple[str, ...]]
    nodes: list[Node] = field(default_factory=list)
    parts: dict[str, PartOf] = field(default_factory=dict)
    tolerances: dict[str, float] = field(default_factory=dict)
    feeds: dict[str, Feed] = field(default_factory=dict)
    through: dict[str, str] = field(default_factory=dict)  # rail -> the part its current comes through
    notes: list[str] = field(default_factory=list)

    def node(self, name: str) -> Node | None:
        """The node of that name."""
        return next((one for one in self.nodes if one.name == name), None)


def source_of(rail: str) -> str:
    """The name of the source of volts behind a rail."""
    return f"{rail} source"


def regulation_of(rail: str) -> str:
    """The name of the resistance that a supply gives its volts through."""
    return f"{rail} regulation"


def part(made: Assembled, block: Block, name: str, *nodes: str, called: str = "", words: str = "",
         of: str = "") -> str:
    """Add a part of a block between nodes; the name it has in the circuit. of: what it belongs to where not to the whole block:
    one valve of a pair.
    """
    called = called or f"{block.name}.{name}"
    spec, given = field_of(block.kind, name), block.of(name)
    label = words or spec.label[:1].lower() + spec.label[1:]
    made.parts[called] = PartOf(block.name, name, f"{of or block.name} {label}", given.reference)
    value = block.number(name)
    if spec.unit == "F":
        made.circuit.capacitor(called, nodes[0], nodes[1], value)
        return called
    made.circuit.resistor(called, nodes[0], nodes[1], value)
    made.tolerances[called] = tolerance_of(block, name)
    return called


def maybe(made: Assembled, block: Block, name: str, *nodes: str) -> None:
    """Add a part where it is entered."""
    if block.of(name).number is not None:
        part(made, block, name, *nodes)
