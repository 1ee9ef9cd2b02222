"""What a thing is, from the words of its kind: what it does in the amp, and which acts it usually has."""

from __future__ import annotations

import re

from app.reassembly.planner.things import Role, Thing

# Trait → words of a kind. A kind can have several traits. (Trade words; common practice, no source.)
_TRAITS = {
    "retainer": r"retainer|spring clip|hold.?down",
    "can": r"screening can|valve screen|shield can|tube shield|valve shield",
    "base": r"valve.?base|valve.?socket|valve.?holder|tube.?socket|tube.?base|^base$",
    "fuse holder": r"fuse.?holder",
    "control": r"\bpot\b|potentiometer|switch|selector|^control$|encoder",
    "jack": r"\bjack|\bphono\b|\bxlr\b|\bdin\b|(input|output|line|speaker|footswitch|effects) (socket|terminal|connector)",
    "lamp": r"\blamp|indicator|jewel|\bled\b",
    "inlet": r"inlet",
    "panel": r"fascia|front panel|bezel|face.?plate|^panel$|rear panel|control panel",
    "box": r"\bbox\b|screen(ing)? (cover|plate|lid)|inner cover|\bshield\b",
    "cover": r"\bcover\b|\blid\b|back panel|back board|bottom plate|top plate|base plate|\bgrille\b|\bcage\b|top hat|rear cover",
    "cabinet": r"^chassis|cabinet|sleeve|\bcase\b|\bhousing\b|enclosure",
    "ear": r"\bears?\b|rack flange",
    "clamp": r"\bclamp\b|clip ring|\bgland\b|cord grip|strain relief",
    "earth": r"protective|earth stud|earth.?bolt|conductor,? earth|earth core|"
             r"earth bond|bonding (stud|lead|conductor|strap)|earth conductor|earth lead",
    "clamped earth": r"earth tag|earth terminal|star point",
    "mains": r"mains.?(conductor|lead|wire|cord|cable|flex|link)|\b(live|neutral) (conductor|lead|wire)|power cord|\bcord\b",
    "mains transformer": r"(mains|power).?transformer",
    "output transformer": r"output.?transformer",
    "choke": r"choke",
    "board": r"\bboard\b|\bpcb\b|tag strip|turret|eyelet",
    "printed": r"printed|\bpcb\b|circuit board",
    "fixing": r"screw|\bbolts?\b|^nut$|\bfixings?\b|fastener|tie.?rod",
    "pillar": r"\bstandoff\b|\bstand-off\b|\bpillar\b|\bspacer\b",
    "speaker": r"speaker|driver unit",
    "tank": r"tank|reverb pan",
    "insulation": r"insulat(ion|ing)|\bsheet\b|\bmica\b",
    "edge": r"grommet|edge strip|\bseal\b",
    "lead": r"\bwires?\b|\bwiring\b|\bharness\b|\bleads?\b|conductor|\bcable\b|\bcord\b|\blink\b|\bpair\b|\bloom\b|"
            r"\bflex\b|ribbon|\bstrap\b",
    "part": r"resistor|capacitor|electrolytic|diode|rectifier|bridge|inductor|\bstopper\b|transistor|varistor|thermistor|"
            r"suppressor|filter",
    "hazard": r"line.to.(chassis|earth)|mains.to.(chassis|earth) cap|death cap|line bypass cap",
}
_COMPILED = {trait: re.compile(words, re.IGNORECASE) for trait, words in _TRAITS.items()}
_VALVE = re.compile(r"\b(valve|tube|rectifier valve)\b", re.IGNORECASE)
_NO_VALVE = re.compile(r"base|socket|holder|retainer|screen|shield|\bcan\b|cap|clip|board|amplifier", re.IGNORECASE)
_RECTIFIER = re.compile(r"rectifier|\b(GZ\d\d|EZ\d\d|5AR4|5U4\w*|5Y3\w*|5V4\w*|6X4|6X5\w*|6CA4|U5[02]|5R4\w*)\b", re.IGNORECASE)
_OUTPUT = re.compile(r"output|power valve|\b(EL(3[3467]|8[146]|90|360|50[349])|KT(61|66|77|88|90|120|150)|6L6\w*"
                     r"|6V6\w*|6550\w*|5881\w*|6BQ5|6BM8|ECL8[0-6]|7027\w*|7189\w*|7591\w*|7868|6AQ5\w*|6CA7|6K6\w*|6F6\w*"
                     r"|807|2A3|300B)\b", re.IGNORECASE)
_HEATER = re.compile(r"heater|filament", re.IGNORECASE)

_USUAL: tuple[tuple[str, tuple[Role, ...]], ...] = (
    ("retainer", ("fit",)), ("can", ("fit",)), ("valve", ("fit",)), ("base", ("fit", "snug", "tight")),
    ("fuse holder", ("fit", "tight")), ("jack", ("prep", "fit", "snug", "tight")),
    ("pot", ("prep", "fit", "snug", "tight", "trim")),
    ("control", ("prep", "fit", "snug", "tight")), ("lamp", ("fit", "tight")), ("inlet", ("fit", "snug", "tight")),
    ("panel", ("fit", "snug", "tight")), ("clamp", ("fit", "snug", "tight")), ("stud", ("prep", "fit", "tight")),
    ("clamped earth", ("prep", "fit", "tight")), ("mains transformer", ("fit", "snug", "tight")),
    ("output transformer", ("fit", "snug", "tight")), ("choke", ("fit", "snug", "tight")), ("box", ("fit", "tight")),
    ("cover", ("fit", "tight")), ("ear", ("fit", "tight")), ("cabinet", ("fit", "tight")), ("board", ("fit", "snug", "tight")),
    ("fuse", ("fit",)), ("speaker", ("fit", "snug", "tight")), ("tank", ("fit", "tight")),
    ("fixing", ("fit", "snug", "tight")), ("pillar", ("fit", "tight")), ("insulation", ("fit",)), ("edge", ("fit",)),
    ("can capacitor", ("fit",)), ("lead", ()), ("part", ()),
)


def traits_of(thing: Thing) -> frozenset[str]:
    """What a thing is. The kind decides; the name helps only where a kind says too little (which valve, which lead)."""
    kind, name = thing.kind.replace("_", " "), thing.name
    found = {trait for trait, words in _COMPILED.items() if words.search(kind) or words.search(thing.kind)}
    both = f"{kind} {name}"
    if found & {"fuse holder", "retainer", "can"} or ("jack" in found and "base" in found):
        found -= {"base", "control", "cover"}
    if kind == "part" and _COMPILED["ear"].search(name):
        found.add("ear")
    if re.search(r"\bfuse\b", kind, re.IGNORECASE) and "fuse holder" not in found:
        found.add("fuse")
    if re.search(r"\bpot\b|potentiometer", kind, re.IGNORECASE):
        found.add("pot")
    if re.search(r"can cap|can electrolytic", kind, re.IGNORECASE):
        found.add("can capacitor")
    if "earth" in found and re.search(r"stud|bolt|terminal", kind, re.IGNORECASE):
        found.add("stud")
    if found & {"retainer", "can", "jack", "lead", "earth"}:
        found -= {"part", "board", "speaker"}
    if _VALVE.search(kind) and not _NO_VALVE.search(kind):
        found = (found - {"part"}) | {"valve"}
        found |= {"rectifier"} if _RECTIFIER.search(both) else {"output"} if _OUTPUT.search(both) else set()
    if "jack" in found and ("isolat" in kind.lower() and "not isolated" not in kind.lower()
                             or not thing.at_once and _isolating(thing)):
        found.add("isolated")
    if _HEATER.search(both) and not found & {"fuse", "fuse holder", "mains transformer", "control", "valve", "base"}:
        found.add("heater")
    if "board" in found and _is_small(thing):
        found.add("small board")
    if "hazard" not in found and re.search(r"capacitor", kind, re.IGNORECASE) and _COMPILED["hazard"].search(name):
        found.add("hazard")
    return frozenset(found)


def usual_acts(thing: Thing, traits: frozenset[str]) -> tuple[Role, ...]:
    """The acts that such a thing usually has; a lead or a small part with ends has none of its own."""
    if thing.on and thing.ends and "mains" in traits and re.search(r"\bcord\b|\bcable\b|\bflex\b", thing.kind, re.IGNORECASE):
        return ("fit",)
    if thing.ends and not thing.stacks and traits & {"lead", "part"} and "can capacitor" not in traits:
        return ()
    if "pot" in traits and not any("knob" in piece for piece in thing.pieces) and thing.stacks:
        return ("prep", "fit", "snug", "tight")
    for trait, acts in _USUAL:
        if trait in traits:
            return acts
    return ("fit",) if not thing.stacks else ("fit", "tight")


def _isolating(thing: Thing) -> bool:
    pieces = " ".join(thing.pieces).lower()
    return "shoulder" in pieces or "insulating bush" in pieces


_PLAIN_BOARD = frozenset(("main", "large", "preamp", "pre-amp", "tag", "turret", "eyelet", "printed", "circuit", "board", "pcb",
                          "strip", "wiring"))


def _is_small(thing: Thing) -> bool:
    """A board that is filled in the hand: held by no more than two fixings, or by four and named for its one use."""
    fixings = sum(stack.times for stack in thing.stacks)
    plain = set(re.findall(r"[a-z-]+", thing.kind.lower())) <= _PLAIN_BOARD
    return 0 < fixings <= 2 or (fixings <= 4 and not plain)
