"""From a sheet to the circuit that it is: every block that is known, its nodes by their names, its parts by theirs. Pure.

Node and part names are those of the sheet: node "V1a anode", part "V1a.anode_ohm".
"""

from __future__ import annotations

from app.circuits.rules import stages
from app.circuits.rules.assembled import GROUND, Assembled, Node, PartOf, part, regulation_of, source_of
from app.circuits.rules.blocks import ELEVATED, Block, Kind, Sheet, tolerance_of
from app.circuits.rules.supply import feed_of
from app.circuits.rules.wiring import unknown
from app.electrics import mains_factor

EMISSION = 0.30  # how far a valve of a type is from its sheet: VALVE_SPREAD of the sums, common practice, no source
BIAS_SETTING = 0.03  # how exactly a set bias is known: common practice, no source
READ_MAINS, ANY_MAINS = 0.01, 0.10  # a meter's reading of the mains; mains that nobody read


def assemble(sheet: Sheet, mains_v: float | None) -> Assembled:
    """The circuit of all that is known of a sheet, at these mains volts (None: at the tap's).

    Reservoirs are sources at first; `app.circuits.rules.work.worked` finds what they give.
    """
    from app.electrics import Circuit  # here: a page that shows no sheet must not wait for numpy

    mains = next(sheet.of_kind(Kind.MAINS), None)
    tap = mains.of("tap_v").number if mains else None
    factor = mains_factor(measured_v=mains_v, tap_v=tap) if mains_v and tap else 1.0
    made = Assembled(Circuit(), factor, unknown(sheet))
    made.tolerances["volts"] = READ_MAINS if mains_v and tap else ANY_MAINS
    made.tolerances |= {"triode": EMISSION, "pentode": EMISSION}
    adders = {Kind.RESERVOIR: _reservoir, Kind.DROPPER: _dropper, Kind.CHOKE: _dropper, Kind.RAIL: _rail, Kind.BIAS: _bias,
              Kind.STAGE: stages.add_stage, Kind.SPLITTER: stages.add_splitter, Kind.OUTPUT: stages.add_output,
              Kind.FEEDBACK: _feedback, Kind.HEATERS: _heaters}
    for kind, add in adders.items():
        for block in sheet.of_kind(kind):
            if block.name not in made.unknown:
                add(made, block, sheet)
    if mains and mains.of("primary_ohm").number is None and made.feeds:
        made.notes.append("The primary’s ohms are not entered: its share of the supply’s resistance is left out, so the supply is "
                          "calculated somewhat high.")
    return made


def _reservoir(made: Assembled, block: Block, sheet: Sheet) -> None:
    feed = feed_of(block, sheet, made.factor)
    made.feeds[block.name] = feed
    inside = f"{block.name} inside"
    made.circuit.volts(source_of(block.name), inside, GROUND, 1.2 * feed.vrms)
    made.circuit.resistor(regulation_of(block.name), inside, block.name, max(feed.ohm, 1.0))
    made.through[block.name] = regulation_of(block.name)
    made.parts[source_of(block.name)] = PartOf(block.name, "", f"{block.name}: volts of the winding or the mains", "")
    winding = sheet.block((sheet.block(block.word("fed_by")) or block).word("fed_by"))
    if winding is not None:
        made.tolerances["volts"] = max(made.tolerances["volts"], _both(READ_MAINS, tolerance_of(winding, "volt")))
    part(made, block, "farad", block.name, GROUND)
    made.nodes.append(Node(block.name, block.name, "reservoir"))


def _dropper(made: Assembled, block: Block, _sheet: Sheet) -> None:
    made.through[block.name] = part(made, block, "ohm", block.word("fed_by"), block.name)
    part(made, block, "farad", block.name, GROUND)
    made.nodes.append(Node(block.name, block.name, "supply"))


def _rail(made: Assembled, block: Block, _sheet: Sheet) -> None:
    source = source_of(block.name)
    made.circuit.volts(source, block.name, GROUND, block.number("volt") * made.factor)
    made.tolerances[source] = tolerance_of(block, "volt")
    made.parts[source] = PartOf(block.name, "volt", f"{block.name}: its volts", "")
    made.nodes.append(Node(block.name, block.name, "supply"))


def _bias(made: Assembled, block: Block, _sheet: Sheet) -> None:
    source = source_of(block.name)
    made.circuit.volts(source, GROUND, block.name, abs(block.number("set_v")) * made.factor)
    made.tolerances[source] = BIAS_SETTING
    made.parts[source] = PartOf(block.name, "set_v", f"{block.name}: what it is set to", "")
    made.nodes.append(Node(block.name, block.name, "bias feed"))


def _both(one: float, other: float) -> float:
    return float((one * one + other * other) ** 0.5)


def _feedback(made: Assembled, block: Block, _sheet: Sheet) -> None:
    """At rest the speaker winding is chassis: its fraction of an ohm is left out."""
    if (into := block.word("into")) in made.unknown or not any(part.block == into for part in made.parts.values()):
        return
    part(made, block, "ohm", block.name, GROUND)
    part(made, block, "shunt_ohm", block.name, GROUND)
    made.nodes.append(Node(block.name, block.name, "feedback"))


def _heaters(made: Assembled, block: Block, _sheet: Sheet) -> None:
    made.nodes.append(Node(f"{block.name} AC", block.name, "heaters", mains=True))
    if block.word("reference") == ELEVATED and block.word("raised_by") not in made.unknown:
        raised = f"{block.name} reference"
        part(made, block, "upper_ohm", block.word("raised_by"), raised)
        part(made, block, "lower_ohm", raised, GROUND)
        made.nodes.append(Node(raised, block.name, "reference"))
