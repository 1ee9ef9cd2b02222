"""Wording packs: the same thing in British and in American shops. Keys are the words of the code. Pure."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass, fields
from enum import StrEnum


class Pack(StrEnum):
    """Which words the shop uses."""

    VALVE = "valve"
    TUBE = "tube"

    @property
    def label(self) -> str:
        return {"valve": "valve, earth, mains, HT", "tube": "tube, ground, AC line, B+"}[self.value]


@dataclass(frozen=True)
class Words:
    """The shop's word for each thing. Used in templates as `w.valve`."""

    valve: str
    valves: str
    earth: str
    protective_earth: str
    mains: str
    mains_voltage: str
    ht: str
    anode: str
    chassis: str
    fascia: str
    valve_base: str
    live: str
    come_back: str
    mains_transformer: str
    flex: str
    colour: str
    jack: str
    aluminium: str
    metre: str
    anodes: str
    valve_bases: str
    jacks: str
    centre: str
    quote: str
    variation: str
    energise: str
    labour: str
    licence: str


WORDS: dict[Pack, Words] = {
    Pack.VALVE: Words(
        valve="valve", valves="valves", earth="earth", protective_earth="protective earth", mains="mains",
        mains_voltage="mains voltage", ht="HT",
        anode="anode", chassis="chassis", fascia="front panel", valve_base="valve base", live="live",
        come_back="come-back", mains_transformer="mains transformer", flex="mains lead", colour="colour",
        jack="jack socket", aluminium="aluminium", metre="metre", anodes="anodes", valve_bases="valve bases", jacks="jack sockets",
        centre="centre", quote="quote", variation="variation", energise="energise", labour="labour", licence="licence"),
    Pack.TUBE: Words(
        valve="tube", valves="tubes", earth="ground", protective_earth="safety ground", mains="AC line",
        mains_voltage="line voltage", ht="B+",
        anode="plate", chassis="chassis", fascia="faceplate", valve_base="tube socket", live="hot",
        come_back="comeback", mains_transformer="power transformer", flex="power cord", colour="color",
        jack="jack", aluminium="aluminum", metre="meter", anodes="plates", valve_bases="tube sockets", jacks="jacks",
        centre="center", quote="estimate", variation="change order", energise="energize", labour="labor", licence="license"),
}

# What the shop's words alone do not say. Left: the valve words that the code is written in, right: the American ones.
# A phrase stands before the words in it (the longer is tried first), so a phrase that is its own right side is kept as it is.
# Metal that carries voltage is "live" in both packs: only a conductor's name may become "hot", which is else a temperature.
# The supply is an "AC line", never a bare "line", which in an American shop is also the hot conductor, and an entry of a list.
TUBE_PHRASES: tuple[tuple[str, str], ...] = (
    ("live and neutral", "hot and neutral"), ("live or neutral", "hot or neutral"), ("live to neutral", "hot to neutral"),
    ("live conductor", "hot conductor"), ("live conductors", "hot conductors"), ("live wire", "hot wire"),
    ("mains conductor", "AC line wire"), ("mains conductors", "AC line wires"), ("mains wire", "AC line wire"),
    ("mains wires", "AC line wires"), ("mains transformers", "power transformers"), ("mains leads", "power cords"),
    ("mains plug", "power plug"), ("mains inlet", "AC inlet"), ("mains switch", "power switch"),
    ("mains voltages", "line voltages"),
    ("mains voltage", "line voltage"), ("mains volts", "line voltage"), ("mains frequency", "line frequency"),
    ("mains cycle", "line cycle"), ("mains cycles", "line cycles"), ("mains current", "line current"),
    ("mains marking", "nameplate rating"), ("mains off", "power off"), ("mains on", "power on"),
    ("rating plate", "nameplate"), ("rating plates", "nameplates"),
    ("voltage variation", "voltage variation"), ("variation", "change order"), ("variations", "change orders"),
    ("quote", "estimate"), ("quotes", "estimates"), ("quoted", "estimated"),
    ("earthed", "grounded"), ("earths", "grounds"), ("earthing", "grounding"), ("unearthed", "ungrounded"),
    ("valve holder", "tube socket"), ("valve holders", "tube sockets"), ("re-valve", "re-tube"), ("come-backs", "comebacks"),
    ("fascia", "faceplate"), ("tag board", "terminal board"), ("tag boards", "terminal boards"),
    ("solder tag", "solder lug"), ("solder tags", "solder lugs"), ("loom", "harness"), ("looms", "harnesses"),
    ("isolating transformer", "isolation transformer"), ("phase splitter", "phase inverter"),
    ("reservoir capacitor", "first filter capacitor"), ("reservoir capacitors", "first filter capacitors"),
    ("reservoir", "first filter capacitor"), ("reservoirs", "first filter capacitors"),
    ("smoothing capacitor", "filter capacitor"), ("smoothing capacitors", "filter capacitors"), ("smoothing choke", "choke"),
    ("smoothing", "filtering"),
    ("toothed washer", "star washer"), ("toothed washers", "star washers"), ("spring washer", "split lock washer"),
    ("spring washers", "split lock washers"), ("cup washer", "finish washer"), ("cup washers", "finish washers"),
    ("insulating bush", "shoulder washer"), ("insulating bushes", "shoulder washers"), ("grub screw", "set screw"),
    ("grub screws", "set screws"), ("lock-nut", "lock nut"), ("lock-nuts", "lock nuts"), ("locking nut", "lock nut"),
    ("locking nuts", "lock nuts"),
    ("energise", "energize"), ("energised", "energized"), ("energises", "energizes"), ("energising", "energizing"),
    ("labour", "labor"), ("licence", "license"), ("licences", "licenses"), ("fibre", "fiber"), ("fibres", "fibers"),
    ("grey", "gray"), ("jewellery", "jewelry"), ("mould", "mold"), ("metres", "meters"), ("millimetres", "millimeters"),
    ("millimetre", "millimeter"), ("catalogue", "catalog"), ("catalogues", "catalogs"), ("colours", "colors"),
    ("coloured", "colored"), ("discoloured", "discolored"), ("discolouring", "discoloring"), ("centred", "centered"),
    ("cheque", "check"),
    ("M-O Valve", "M-O Valve"),  # the publisher of a data sheet: what a document is called is never translated
)


_WITHIN = re.compile(r"[^\W\d_] \Z")


def swap(text: str, pack: Pack) -> str:
    """Text written in valve words, said in the shop's own. Leaves whole other words alone, and names: Mrs Grey stays Mrs Grey."""
    if pack is Pack.VALVE:
        return text
    pattern, there = _table(pack)

    def say(found: re.Match[str]) -> str:
        ours: str = found.group(0)
        theirs = there[ours.lower()]
        if ours[:1].isupper() and not ours.isupper() and _WITHIN.search(text, 0, found.start()):
            return ours  # a capital within a sentence: a name of somebody or something
        raised = ours[0].isupper() and theirs[0].islower()
        return theirs[0].upper() + theirs[1:] if raised else theirs

    return pattern.sub(say, text)


@functools.cache
def _table(pack: Pack) -> tuple[re.Pattern[str], dict[str, str]]:
    """What is looked for, longest first, and what is said in its place, by our words in small letters."""
    here, theirs = WORDS[Pack.VALVE], WORDS[pack]
    pairs = {getattr(here, field.name): getattr(theirs, field.name) for field in fields(Words) if field.name != "live"}
    pairs |= dict(TUBE_PHRASES)
    there = {ours.lower(): said for ours, said in pairs.items()}
    longest_first = sorted(there, key=lambda ours: (-len(ours), ours))
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)", re.IGNORECASE), there
