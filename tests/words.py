"""The words that screens, papers, refusals and the catalogue no longer use, each with the plain one beside it."""

from __future__ import annotations

import re

RETIRED: dict[str, str] = {
    r"\bLeave it\b(?! empty| where)": "Cancel", r"\bKeep it\b(?! in sight)": "Cancel, or Save and its object", r"\bKeep this\b(?! "
                                                                                                        r"paper)": "Save",
    r"\bStrike\b(?! out)": "Strike out", r"\bPowered again\b": "Record a power-up",
    r"\bEvery point is read\b": "Complete the stage",
    r"\b(is|was|are|not) written down\b": "recorded",
    r"\bDo this next\b": "the name of the act", r"\bNot yet\b": "Cancel, or Still missing", r"\bOn to\b": "Move to",
    r"\bSo be it\b": "Save the disposition", r"\bNot like this\b": "It differs", r"\bSame again\b": "Record another",
    r"\bOne more off\b": "Record a removal", r"\bOff the amp\b": "Removed parts", r"\bWork it out\b": "Calculate",
    r"\bWrite (it|them|a part|the answer|the notice|somebody) (down|new)\b": "Save or Add and its object",
    r"\bIt is (off|out|done|ordered|fitted|found|handed over|handed out|given back)\b": "Record and its object",
    r"\bin the warmth\b|\bof the warmth\b": "bake-out", r"\bNobody comes for it\b": "Uncollected", r"\bIn again\b": "Come-back",
    r"\bGone out\b": "Returned", r"\bin the house\b": "checked in", r"\bFinding out\b": "Diagnosis",
    r"\bLook for danger\b": "Danger check",
    r"\bAt the counter\b": "Intake", r"\bWhat became of it\b": "Disposal record", r"\bLines drawn\b": "Thresholds",
    r"\bComes to\b": "Result", r"\bNot so\b": "Request refused", r"\bNot with this sign-in\b": "Not allowed for your role",
    r"\bHand (the open amp|it) over\b": "Change technician, Waste transfer", r"\bEverything that happened\b": "History",
    r"\bnought\b": "0", r"\b[Rr]eckoned\b": "calculated", r"\banew\b": "again", r"\b[Ss]omebody\b": "someone",
    r"\bunaccounted\b": "balances",
    r"\b[Mm]end(ed)?( it)?\b": "repair", r"\bstands at\b": "is at", r"\breplace by (better|new)\b": "upgrade, replace with new",
    r"\btake the change out\b": "remove modification", r"\bnot worth the money\b": "beyond economic repair",
    r"\blooked at only\b": "visual check only", r"\bno danger\b": "no hazard recorded",
    r"\bis not safe\b": "is not below the limit",
    r"\bMade safe\b|\bmade safe\b(?! (here|under))": "discharge record; disabled",
    r"\bEverything is ready\b": "All required records are complete",
    r"\b9 in 10\b|\bsuch jobs stay\b": "by our hour ranges (90 %)", r"\ball in order\b": "no mismatch found",
    r"\bsound, value, approval, the way back\b": "effect on sound, value, approvals, and whether it can be undone",
    r"\bJudge it\b": "Save the reading", r"\bLook it over\b": "Visual inspection", r"\bThrow it away\b": "Discard draft",
    r"\bSay (why|what|how|who|whom|where|which|whether|when|so|it|yes|into|between|on|in which)\b": "Enter or Choose",
    r"\b[Ww]ay-?bill\b": "delivery note",
    r"\bd\.c\.|\ba\.c\.": "DC, AC", r"\b[Ll]oudspeakers?\b": "speaker", r"\b[Ss]tand-by\b": "standby",
}
ONE = re.compile("|".join(f"(?:{words})" for words in RETIRED))


def retired_in(text: str) -> list[str]:
    """Each retired word in this text, with what is said instead."""
    return [f"“{hit.group()}” (say: {plain})" for words, plain in RETIRED.items() for hit in re.finditer(words, text)]
