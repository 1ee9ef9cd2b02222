"""Three strip-downs as a bench would record them, and the orders they go back in.

The task graphs, counts of pieces and numbers of valid orders were worked out by hand and by a separate
program (computed); the rules behind the edges are common practice, no source.
"""

from __future__ import annotations

from app.reassembly.planner import Removal

POTS = ("P1", "P2", "P3", "P4", "P5", "P6", "P7")
TOGGLES = ("S1", "S2")
JACKS = ("J1", "J2", "J3", "J4")
CONTROLS = (*POTS, *TOGGLES, *JACKS)


def control(name: str, *, isolated: tuple[str, ...] = ("J1", "J2"), **more: object) -> Removal:
    """A pot, toggle or jack of the front panel with its stack, outer to inner."""
    metal = ("FAS", "chassis")
    stack: tuple[str, ...]
    if name in TOGGLES:
        stack = ("nut", "flat washer", *metal, "toothed washer", "back-nut", "body")
    elif name in POTS:
        back = ("back-nut",) if name == "P4" else ()
        stack = ("knob", "nut", "flat washer", *metal, "toothed washer", *back, "body")
    elif name in ("J1", "J2"):
        stack = ("nut", "flat washer", "fibre washer", *metal, "shoulder bush", "body")
    else:
        stack = ("nut", "flat washer", *metal, "toothed washer", "body")
    kind = "control" if name[0] != "J" else "jack_isolated" if name in isolated else "jack"
    return Removal(name, kind=kind, stack=stack, stays_on_loom=True, **more)


def front_panel(
    names: tuple[str, ...] = CONTROLS,
    screws: tuple[str, ...] = ("E1", "E2"),
    isolated: tuple[str, ...] = ("J1", "J2"),
) -> list[Removal]:
    """A fascia behind thirteen nuts and two end screws (or a smaller one)."""
    stack = ("screw", "cup washer", "FAS", "chassis insert")
    ends = [Removal(name, kind="screw", on="FAS", side="outside", stack=stack) for name in screws]
    fascia = Removal("FAS", label="fascia", kind="panel", side="outside", under=(*names, *screws))
    return [*(control(name, isolated=isolated) for name in names), *ends, fascia]


def panel_graph(
    names: tuple[str, ...], screws: tuple[str, ...], isolated: tuple[str, ...]
) -> dict[str, set[str]]:
    """The tasks of a front panel and what each waits for."""
    graph: dict[str, set[str]] = {"FAS": set()}
    for name in names:
        graph[f"IN_{name}"] = set()
        graph[f"BODY_{name}"] = {f"IN_{name}"}
        graph[f"OVER_{name}"] = {f"BODY_{name}", "FAS"}
        graph[f"NUT_{name}"] = {f"OVER_{name}"}
        graph[f"TIGHT_{name}"] = {"ALIGN"}
        if name in POTS:
            graph[f"KNOB_{name}"] = {f"TIGHT_{name}"}
    for screw in screws:
        graph[screw] = {"FAS"}
    graph["ALIGN"] = {f"NUT_{name}" for name in names} | set(screws)
    tests = [name for name in names if name in isolated]
    if tests:
        graph["ISO"] = {f"TIGHT_{name}" for name in tests}
    needed = set().union(*graph.values())
    graph["CT"] = set(graph) - needed
    return graph


TRANSFORMER_GRAPH: dict[str, set[str]] = {
    "G1": set(),
    "G2": set(),
    "CL": set(),
    "T": {"G1", "G2"},
    **{bolt: {"T"} for bolt in ("BA", "BB", "BC", "BD")},
    "NA": {"BA"},
    "NB": {"BB"},
    "ND": {"BD"},
    "EC": {"BC", "CL"},
    "X": {"EC", "NA", "NB", "ND"},
    "LK": {"X"},
    "PE": {"LK"},
    "W1": {"PE"},
    "W2": {"PE"},
    **{f"W{number}": {"X"} for number in range(3, 10)},
    "IR": {f"W{number}" for number in range(1, 10)},
    "CT": {"IR"},
}


def transformer() -> list[Removal]:
    """A mains transformer on four corners, the earth on corner C, nine leads of which two are mains."""
    head = ("bolt", "plain washer", "T", "chassis")
    under = ("plain washer", "spring washer", "nut")
    earth = ("toothed washer", "PE ring (captive)", *under, "lock-nut")
    leads = [
        Removal(f"W{number}", kind="mains_lead" if number < 3 else "wire", on="T", side="under")
        for number in range(9, 0, -1)
    ]
    bolts = [
        Removal(
            corner,
            kind="earth_bolt" if corner == "C" else "bolt",
            on="T",
            side="top",
            stack=(*head, *(earth if corner == "C" else under)),
        )
        for corner in "ABDC"
    ]
    iron = Removal("T", label="mains transformer", kind="mains_transformer", side="top", under=tuple("ABDC"))
    grommets = [Removal(name, side="top", under=("T",), fasteners={"grommet": 1}) for name in ("G1", "G2")]
    return [*leads, *bolts, iron, *grommets]


BASE_GRAPH: dict[str, set[str]] = {
    "SK": set(),
    "RT": set(),
    "F1": {"RT", "SK"},
    "F2": {"RT", "SK"},
    "TG": {"F1", "F2"},
    **{end: {"TG"} for end in ("H1", "H2", "A1", "S1")},
    "L1": {"H1", "H2"},
    "R2": {"H1", "H2"},
    "R1": {"H1", "H2", "S1"},
    "D1": {"A1"},
    "K1": {"L1"},
    "J1": {"L1"},
    "J2": {"H1"},
    "J3": {"D1"},
    "J4": {"R1"},
    "J5": {"R2"},
    "J6": {"R1"},
    "J7": {"H2"},
    "J8": {"K1"},
    "JT": {"D1", "K1"},
    "V": {"J1", "J2", "J3", "J4", "J5", "J6", "J7", "J8", "JT"},
}


def octal_base() -> list[Removal]:
    """An output valve's octal base: two screws, thirteen ends at eight pins and an earth tag."""
    ends = {
        "K1": (("8", "T"), ()),
        "D1": (("3", "T"), ()),
        "R1": (("4", "6"), ()),
        "R2": (("5",), ()),
        "L1": (("1", "8"), ("K1",)),
        "S1": (("6",), ("R1",)),
        "A1": (("3",), ("D1",)),
        "H2": (("7",), ("L1", "R1", "R2")),
        "H1": (("2",), ("L1", "R1", "R2")),
    }
    wires = [
        Removal(name, kind="wire", on="SK", ends=pins, under=under, side="inside")
        for name, (pins, under) in ends.items()
    ]
    fixing = {"screw": 1, "spring washer": 1, "nut": 1}
    screws = [Removal(name, kind="screw", on="SK", fasteners=fixing) for name in ("F2", "F1")]
    retainer = Removal("RT", under=("F1", "F2"), fasteners={"retainer": 1})
    base = Removal(
        "SK",
        label="base V5",
        kind="valve_base",
        under=("F1", "F2"),
        fasteners={"base": 1},
        keyed=True,
        orientation="keyway to the output transformer",
    )
    return [*wires, *screws, retainer, base]
