"""The volts of an insulation test, by what is fitted between the mains and the metal. Pure.

Usually 500 V DC from live and neutral, joined, to the metal. A varistor, arrester or suppressor that lies there conducts at such
volts: the reading would be its own, so 250 V is used where one is fitted.
"""

from __future__ import annotations

import re

from app.measuring.rules import Kind, say

USUAL_V = 500.0
REDUCED_V = 250.0
SOURCE = ("500 V DC, 250 V where surge parts would conduct: AS/NZS 3760 and EN 50678/50699, from memory; "
          "the bench sequence of the trade says the same for suppressors")
# A multimeter puts a few volts on an insulation and proves nothing about it.
TESTERS = (Kind.INSULATION_TESTER, Kind.SAFETY_TESTER)
ASKED = ("Is a mains filter, suppressor, varistor or surge arrester fitted between live or neutral and the chassis?")
UNNAMED = "the filter, suppressor or varistor"

# As benches write them (common practice, no source).
_PART = re.compile(
    r"\bsuppress(?:ors?|ion)\b(?!\s+grid)|\b(?:mains|input|emi|rfi)\s+filters?\b|\bline\s+filters?\b(?!\s+(?:cap|can|electrolytic))"
    r"|\bfilter(?:ed)?\s+inlet\b|\binlet\s+(?:with\s+)?(?:\w+\s+)?filter\b|\bMOVs?\b|\bvaristors?\b|\bsurge\s+\w+|\barresters?\b"
    r"|\bclass[\s-]?[xy]\b|\b[xy][12]\s+cap\w*", re.IGNORECASE)
_NONE = re.compile(r"\b(?:no|without|lacks?|missing|never)\b[^.;,]{0,30}$", re.IGNORECASE)
_GONE = re.compile(r"^[^.;,]{0,20}\b(?:removed|cut out|taken out|missing|not fitted|absent)\b", re.IGNORECASE)


def tells_of_one(words: str) -> bool:
    """Whether words of a record tell of a part that can conduct at 500 V; not where they say that there is none."""
    return any(not _NONE.search(words[:found.start()]) and not _GONE.search(words[found.end():]) for found in _PART.finditer(words))


def test_volts(ordinary: float | None, *, conducts: str) -> float:
    """Volts DC to test at: `ordinary` of the profile (None: it names none), less where `conducts` names a part."""
    usual = USUAL_V if ordinary is None else ordinary
    return min(usual, REDUCED_V) if conducts else usual


def why_volts_refused(level: float | None, *, ordinary: float | None, conducts: str) -> str:
    """Why the tester's volts prove nothing here, or could harm what is sound; empty if they are right."""
    if level is None or level <= 0:
        return "Enter the tester’s test volts."
    asked = test_volts(ordinary, conducts=conducts)
    if level < asked:
        return f"{say(level, 'V')} is less than the {say(asked, 'V')} that this test asks for."
    if conducts and level > REDUCED_V:
        return f"{conducts[:1].upper()}{conducts[1:]} can conduct at {say(level, 'V')}: test at {say(asked, 'V')}."
    if level > max(asked, USUAL_V):
        return f"{say(level, 'V')} is more than the {say(asked, 'V')} that this test asks for and can harm what is sound."
    return ""
