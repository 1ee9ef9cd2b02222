"""Wording packs: the same thing in British and in American shops. Keys are the words of the code. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from enum import StrEnum


class Pack(StrEnum):
    """Which words the shop uses."""

    VALVE = "valve"
    TUBE = "tube"

    @property
    def label(self) -> str:
        return {"valve": "valve, earth, mains, HT", "tube": "tube, ground, line, B+"}[self.value]


@dataclass(frozen=True)
class Words:
    """The shop's word for each thing. Used in templates as `w.valve`."""

    valve: str
    valves: str
    earth: str
    protective_earth: str
    mains: str
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


WORDS: dict[Pack, Words] = {
    Pack.VALVE: Words(
        valve="valve", valves="valves", earth="earth", protective_earth="protective earth", mains="mains", ht="HT",
        anode="anode", chassis="chassis", fascia="front panel", valve_base="valve base", live="live",
        come_back="come-back", mains_transformer="mains transformer", flex="mains lead", colour="colour",
        jack="jack socket", aluminium="aluminium", metre="metre", anodes="anodes", valve_bases="valve bases", jacks="jack sockets",
        centre="centre"),
    Pack.TUBE: Words(
        valve="tube", valves="tubes", earth="ground", protective_earth="safety ground", mains="line", ht="B+",
        anode="plate", chassis="chassis", fascia="faceplate", valve_base="tube socket", live="hot",
        come_back="comeback", mains_transformer="power transformer", flex="line cord", colour="color",
        jack="jack", aluminium="aluminum", metre="meter", anodes="plates", valve_bases="tube sockets", jacks="jacks",
        centre="center"),
}


def swap(text: str, pack: Pack) -> str:
    """Text written in valve words, said in the shop's own. Leaves whole other words alone."""
    if pack is Pack.VALVE:
        return text
    here, there = WORDS[Pack.VALVE], WORDS[pack]
    pairs: list[tuple[str, str]] = sorted(((getattr(here, f.name), getattr(there, f.name)) for f in fields(Words)),
                   key=lambda pair: -len(pair[0]))

    def say(found: re.Match[str]) -> str:
        word: str = found.group(0)
        for ours, theirs in pairs:
            if word.lower() == ours.lower():
                return theirs.capitalize() if word[0].isupper() and ours[0].islower() else theirs
        return word

    pattern = "|".join(re.escape(ours) for ours, theirs in pairs if ours != theirs)
    return re.sub(rf"\b(?:{pattern})\b", say, text, flags=re.IGNORECASE)
