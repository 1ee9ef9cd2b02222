"""The valve blocks of a sheet as parts of its circuit: preamp stages, splitters, output stages. Pure."""

from __future__ import annotations

from app.circuits.rules.assembled import GROUND, Assembled, Node, PartOf, maybe, part
from app.circuits.rules.blocks import CATHODE, DIRECTLY, FOLLOWER, LONG_TAIL, PENTODE, Block, Kind, Sheet, tolerance_of


def _bottom(made: Assembled, block: Block, sheet: Sheet) -> str:
    """Where the lower end of a tail or a cathode resistor goes: to chassis, or to the feedback that ends there."""
    for feedback in sheet.of_kind(Kind.FEEDBACK):
        if feedback.word("into") == block.name and feedback.name not in made.unknown:
            return feedback.name
    return GROUND


def _grid(made: Assembled, block: Block, sheet: Sheet, leak_to: str) -> str:
    """The grid of a stage: at the anode before it, or at its leak behind a capacitor."""
    before = block.word("signal_from")
    if block.word("coupling") == DIRECTLY:
        return _signal_node(sheet, before)
    grid = f"{block.name} grid"
    part(made, block, "grid_ohm", grid, leak_to)
    made.nodes.append(Node(grid, block.name, "grid", grid=leak_to == GROUND))
    if before and before not in made.unknown and block.of("coupling_farad").number is not None:
        part(made, block, "coupling_farad", _signal_node(sheet, before), grid)
    return grid


def _signal_node(sheet: Sheet, name: str, second: bool = False) -> str:
    """Where the signal of a block is taken."""
    block = sheet.block(name)
    if block is None:
        raise KeyError(name)
    if block.kind is Kind.SPLITTER:
        if block.word("arrangement") == LONG_TAIL:
            return f"{name} anode {2 if second else 1}"
        return f"{name} lower load" if second else f"{name} anode"
    return f"{name} cathode" if block.word("arrangement") == FOLLOWER else f"{name} anode"


def _triode(made: Assembled, block: Block, name: str, anode: str, grid: str, cathode: str) -> None:
    made.circuit.triode(name, anode, grid, cathode, block.word("valve"))
    made.parts[name] = PartOf(block.name, "valve", f"valve {name}", "")


def add_stage(made: Assembled, block: Block, sheet: Sheet) -> None:
    """A preamp stage: a triode or pentode with a load in its anode, or a cathode follower."""
    name, bottom = block.name, _bottom(made, block, sheet)
    grid, cathode, rail = _grid(made, block, sheet, GROUND), f"{block.shares or name} cathode", block.word("fed_by")
    arranged = block.word("arrangement")
    anode = rail if arranged == FOLLOWER else f"{name} anode"
    if arranged != FOLLOWER:
        part(made, block, "anode_ohm", rail, anode)
        made.nodes.append(Node(anode, name, "anode"))
    screen = f"{name} screen"
    if arranged == PENTODE:
        part(made, block, "screen_ohm", rail, screen)
        maybe(made, block, "screen_farad", screen, GROUND)
        made.nodes.append(Node(screen, name, "screen"))
    if not block.shares:
        part(made, block, "cathode_ohm", cathode, bottom)
        maybe(made, block, "cathode_farad", cathode, bottom)
        made.nodes.append(Node(cathode, name, "cathode"))
    if arranged == PENTODE:
        made.circuit.pentode(name, anode, screen, grid, cathode, block.word("valve"))
        made.parts[name] = PartOf(name, "valve", f"valve {name}", "")
    else:
        _triode(made, block, name, anode, grid, cathode)


def add_splitter(made: Assembled, block: Block, sheet: Sheet) -> None:
    """A phase splitter: long-tail pair or cathodyne."""
    name, rail, bottom = block.name, block.word("fed_by"), _bottom(made, block, sheet)
    cathode = f"{name} cathode"
    if block.word("arrangement") == LONG_TAIL:
        tail = f"{name} tail"
        first = _grid(made, block, sheet, tail)
        second = f"{name} second grid"
        part(made, block, "grid_ohm", second, tail, called=f"{name}.grid_ohm 2", words="second grid leak")
        made.nodes.append(Node(second, name, "second grid"))
        for number, (grid, ohm) in enumerate(((first, "anode_ohm"), (second, "anode_2_ohm")), 1):
            anode = f"{name} anode {number}"
            part(made, block, ohm, rail, anode)
            _triode(made, block, f"{name} {number}", anode, grid, cathode)
            made.nodes.append(Node(anode, name, f"anode {number}"))
        part(made, block, "cathode_ohm", cathode, tail)
        part(made, block, "tail_ohm", tail, bottom)
        made.nodes += [Node(cathode, name, "cathode"), Node(tail, name, "tail")]
        return
    lower, anode = f"{name} lower load", f"{name} anode"
    if block.of("cathode_ohm").number is None:
        cathode = lower
    else:
        part(made, block, "cathode_ohm", cathode, lower)
        made.nodes.append(Node(cathode, name, "cathode"))
    grid = _grid(made, block, sheet, lower)
    part(made, block, "anode_ohm", rail, anode)
    part(made, block, "tail_ohm", lower, bottom)
    _triode(made, block, name, anode, grid, cathode)
    made.nodes += [Node(anode, name, "anode"), Node(lower, name, "lower load")]


def valves_of(block: Block) -> list[str]:
    """The names of an output stage's valves: the words of its own name if there are as many, else numbered."""
    count, words = int(block.word("count") or 1), block.name.split()
    return words if len(words) == count and len(set(words)) == count else [f"{block.name} {number + 1}" for number in range(count)]


def add_output(made: Assembled, block: Block, sheet: Sheet) -> None:
    """An output stage of one, two or four valves."""
    valves, name = valves_of(block), block.name
    count = len(valves)
    bias_at = block.word("bias_from") if block.word("bias") != CATHODE else GROUND
    shared = f"{name} cathode"
    if block.word("bias") == CATHODE:
        part(made, block, "cathode_ohm", shared, GROUND)
        maybe(made, block, "cathode_farad", shared, GROUND)
        made.nodes.append(Node(shared, name, "cathode"))
    for side in range(min(count, 2)):
        mine = valves[side::2] if count == 4 else [valves[side]]
        anode = f"{' '.join(mine)} anode"
        winding = "winding_2_ohm" if side else "winding_ohm"
        called = f"{name}.{winding}"
        made.circuit.inductor(called, block.word("fed_by"), anode, 10.0, block.number(winding))
        made.tolerances[called] = tolerance_of(block, winding)
        made.parts[called] = PartOf(name, winding, f"{name} {'other ' if side else ''}half of the primary", "")
        made.nodes.append(Node(anode, name, "anode"))
        for valve in mine:
            _output_valve(made, block, sheet, valve, anode, bias_at, shared, second=bool(side))


def _output_valve(made: Assembled, block: Block, sheet: Sheet, valve: str, anode: str, bias_at: str, shared: str, *,
                  second: bool) -> None:
    """One output valve with its grid, screen and cathode."""
    name, grid, screen = block.name, f"{valve} grid", block.word("screens_from")
    part(made, block, "grid_ohm", grid, bias_at, called=f"{valve}.grid_ohm", words="grid leak", of=valve)
    made.nodes.append(Node(grid, name, "grid", grid=bias_at == GROUND))
    before = block.word("signal_from")
    if before and before not in made.unknown and block.of("coupling_farad").number is not None:
        part(made, block, "coupling_farad", _signal_node(sheet, before, second), grid, called=f"{valve}.coupling_farad",
              words="coupling capacitor", of=valve)
    if block.of("screen_ohm").number is not None:
        part(made, block, "screen_ohm", screen, f"{valve} screen", called=f"{valve}.screen_ohm",
             words="screen resistor", of=valve)
        screen = f"{valve} screen"
        made.nodes.append(Node(screen, name, "screen"))
    cathode = shared if block.word("bias") == CATHODE else GROUND
    if block.word("bias") != CATHODE and block.of("cathode_ohm").number is not None:
        cathode = f"{valve} cathode"
        part(made, block, "cathode_ohm", cathode, GROUND, called=f"{valve}.cathode_ohm", words="cathode resistor", of=valve)
        made.nodes.append(Node(cathode, name, "cathode"))
    made.circuit.pentode(valve, anode, screen, grid, cathode, block.word("valve"))
    made.parts[valve] = PartOf(name, "valve", f"valve {valve}", "")
