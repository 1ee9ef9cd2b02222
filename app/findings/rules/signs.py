"""Signs that decide more than themselves: what they force, what they rule out and what must be looked at because of them.

All of it common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from app.electrics import valve
from app.findings.rules.life import Disposition
from app.findings.rules.risk import Probability, Severity


class Sign(StrEnum):
    """What was seen, in the words of the chip."""

    BASE_TRACK = "arc track between anode and heater"
    EARTH_NO_LOCK = "earth stud without a locking nut"
    EARTH_SHARED = "earth shares a transformer bolt"
    NUT_EARTH = "earths through its nut only"
    SPRAY = "spray residue"
    WEEPS = "wire weeps"
    BOARD_LEAKS = "board leaks or is damp"


_NEW_PART = frozenset({Disposition.REPLACE_LIKE, Disposition.REPLACE_UPGRADE, Disposition.REFER, Disposition.QUARANTINE,
                       Disposition.NOT_ECONOMIC})


@dataclass(frozen=True)
class SignRule:
    """`at_least`: the least severity and probability; `only`: the decisions left; `asks`: what else must be done;
    `measured`: its proof names the instrument.
    """

    why: str
    at_least: tuple[Severity, Probability] | None = None
    only: frozenset[Disposition] | None = None
    asks: str = ""
    measured: bool = False


RULES: dict[Sign, SignRule] = {
    Sign.BASE_TRACK: SignRule(
        "Carbon between anode and heater conducts again, however clean it looks: the base is replaced, not dug out.",
        only=_NEW_PART, measured=True),
    Sign.EARTH_NO_LOCK: SignRule(
        "A fixing of the earth that can work loose is a serious risk: fatal, and more than 1 in 10,000 at least.",
        at_least=(Severity.FATAL, Probability.E), measured=True),
    Sign.EARTH_SHARED: SignRule(
        "The earth under a transformer bolt goes when the transformer does: serious, fatal and more than 1 in 10,000 "
        "at least.", at_least=(Severity.FATAL, Probability.E), measured=True),
    Sign.NUT_EARTH: SignRule(
        "A control or jack socket earthed only by its nut loses its earth if the nut loosens.",
        asks="Loosen the nut and measure shaft or sleeve to chassis: if it opens, give it a wire or a toothed washer.",
        measured=True),
    Sign.SPRAY: SignRule(
        "Contact-cleaner residue on the controls: check the boards for leakage too.",
        asks="Measure the leakage of the boards."),
    Sign.WEEPS: SignRule(
        "Wire that weeps goes by colour and run, with all that shares its terminals; wiping it usually does not stop it.",
        only=_NEW_PART, asks="List the wires that weep, by colour and run."),
    Sign.BOARD_LEAKS: SignRule(
        "A board that leaks is measured, baked out, and measured again.",
        asks="Measure the board's leakage before and after it is baked out.", measured=True),
}


def signs_in(text: str) -> frozenset[Sign]:
    """Signs as they are stored, one after the other."""
    return frozenset(Sign(one) for one in text.split("|") if one)


def stored(signs: Iterable[Sign | str]) -> str:
    """Signs as one text, in the order of the list."""
    given = {Sign(one) for one in signs}
    return "|".join(sign.value for sign in Sign if sign in given)


def why_not_judged(signs: Iterable[Sign], severity: int | None, probability: str | None) -> str:
    """Why a hazard is judged too low for these signs; empty if it is not. Not judged yet is allowed."""
    for sign in signs:
        least = RULES[sign].at_least
        if least and severity is not None and (severity < least[0] or (probability or "h") > least[1]):
            return RULES[sign].why
    return ""


def why_not_decided_with(signs: Iterable[Sign], disposition: Disposition) -> str:
    """Why a decision does not do for these signs; empty if it does."""
    for sign in signs:
        only = RULES[sign].only
        if only is not None and disposition not in only:
            return RULES[sign].why
    return ""


def must_be_measured(signs: Iterable[Sign]) -> bool:
    """Whether the proof names an instrument."""
    return any(RULES[sign].measured for sign in signs)


def is_anode_to_heater(valve_name: str, one: int, other: int) -> bool:
    """Whether a track between these pins of the base joins an anode to a heater: 3 and 2 on the octal output base."""
    pins = valve(valve_name).pins
    anodes = {pin for use, places in pins.items() if use.startswith("anode") for pin in places}
    heaters = {pin for use, places in pins.items() if use.startswith("heater") for pin in places}
    return (one in anodes and other in heaters) or (other in anodes and one in heaters)
