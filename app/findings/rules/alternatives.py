"""Ready words that hold alternatives, 'Mains fuse [too large | bridged]': what may be chosen, and what it makes. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence

MOST = 3  # brackets in one text: each is a question to whoever records it
_GROUP = re.compile(r"\[([^\[\]]*\|[^\[\]]*)\]")


def groups(text: str) -> tuple[tuple[str, ...], ...]:
    """The alternatives of each bracket, in their order: (("too large", "bridged"),); none where nothing is left to choose."""
    return tuple(tuple(one.strip() for one in found.split("|")) for found in _GROUP.findall(text))


def chosen(text: str, choices: Sequence[Sequence[str]]) -> str:
    """The sentence with what was chosen in place of each bracket: one or more of its alternatives, joined by 'and'.

    ValueError where a bracket gets nothing, or something that it does not offer.
    """
    offered = groups(text)
    fits = len(choices) == len(offered) and all(some and set(some) <= set(group)
                                                for some, group in zip(choices, offered, strict=True))
    if not fits:
        raise ValueError(f"{choices!r} does not choose from {text!r}")
    ordered = [[one for one in all_ if one in some] for some, all_ in zip(choices, offered, strict=True)]
    rest = iter(ordered)
    return _GROUP.sub(lambda found: _joined(next(rest), begins=found.start() == 0), text)


def one_left_open(text: str) -> tuple[str, ...]:
    """The text once for each bracket, which is left open, the others spread: ("Rubber / PVC insulation …",) and so on."""
    return tuple(spread(text[:found.start()]) + "…" + spread(text[found.end():]) for found in _GROUP.finditer(text))


def spread(text: str) -> str:
    """The text for a list of what may be found: 'Mains fuse too large / bridged'."""
    return _GROUP.sub(lambda found: " / ".join(one.strip() for one in found.group(1).split("|")), text)


def why_not_offered(text: str) -> str:
    """Why these ready words cannot be offered: a bracket that is left open, or an empty alternative. Empty if they can."""
    if any(not one for group in groups(text) for one in group):
        return "Write something on both sides of each | in the brackets."
    if len(groups(text)) > MOST:
        return f"Use at most {MOST} pairs of brackets."
    if any(len(set(group)) < len(group) for group in groups(text)):
        return "The brackets hold the same words twice."
    if any(sign in _GROUP.sub("", text) for sign in "[]"):
        return "Put alternatives in brackets like this: Mains fuse [too large | bridged]."
    return ""


def _joined(picked: Sequence[str], *, begins: bool) -> str:
    """'swollen, leaking and vented'; where it begins the sentence, only its first stays in capitals."""
    told = [picked[0], *(_lowered(one) if begins else one for one in picked[1:])]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"


def _lowered(word: str) -> str:
    return word if word[1:2].isupper() else word[:1].lower() + word[1:]
