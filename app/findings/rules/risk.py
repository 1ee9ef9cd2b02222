"""How serious a finding is: injury severity and its probability give a letter that is always computed, never typed.

Severity 1 to 4 and probability a to h follow Commission Delegated Regulation (EU) 2024/3173, Annex II, which has taken the place
of the guidelines of Commission Implementing Decision (EU) 2019/417. Its words for the severities were read; its table of risk
levels was not found in a readable form, so the matrix is still that of the earlier Decision, Annex, table 4: its values are from
memory, checked against that text's worked example of a folding chair. Severity 0, nobody could be hurt, is ours. The method is
made for judging kinds of product: for one old amplifier it ranks and does not prove. Equipment and function severity are ours,
shaped like the four categories of MIL-STD-882E, table I. No product of three numbers is formed.
"""

from __future__ import annotations

from datetime import date
from enum import IntEnum, StrEnum

METHOD = "Commission Delegated Regulation (EU) 2024/3173, Annex II"
MATRIX_SOURCE = (f"{METHOD}; its table was not found in a readable form, the matrix is that of Commission Implementing "
                 "Decision (EU) 2019/417, Annex, table 4, checked against that text’s worked example")
MATRIX_READ = "from memory"
ADDRESS = "https://eur-lex.europa.eu/eli/reg_del/2024/3173/oj"
READ_ON = date(2026, 11, 26)


class Severity(IntEnum):
    """The worst injury that the scenario leads to."""

    NOBODY = 0
    FIRST_AID = 1
    EMERGENCY = 2
    HOSPITAL = 3
    FATAL = 4

    @property
    def word(self) -> str:
        return ("nobody", "first aid", "emergency visit", "hospital stay or permanent loss",
                "fatal, or lasting disability over about 10 %")[self]


class Probability(StrEnum):
    """Chance of that injury (not of the fault) over the rest of the amp's life: more than one in so many."""

    A = "a"
    B = "b"
    C = "c"
    D = "d"
    E = "e"
    F = "f"
    G = "g"
    H = "h"

    @property
    def word(self) -> str:
        return {"a": "more than 1 in 2", "b": "more than 1 in 10", "c": "more than 1 in 100",
                "d": "more than 1 in 1,000", "e": "more than 1 in 10,000", "f": "more than 1 in 100,000",
                "g": "more than 1 in 1,000,000", "h": "less than 1 in 1,000,000"}[self.value]


class Risk(StrEnum):
    """The letter: serious, high, medium, low, none."""

    SERIOUS = "S"
    HIGH = "H"
    MEDIUM = "M"
    LOW = "L"
    NONE = "N"

    @property
    def word(self) -> str:
        return {"S": "serious", "H": "high", "M": "medium", "L": "low", "N": "none"}[self.value]

    @property
    def words(self) -> str:
        """As it stands beside a finding."""
        return "no risk" if self is Risk.NONE else f"{self.word} risk"

    @property
    def policy(self) -> str:
        """What the shop does about it."""
        return {"S": "Do not power it for the customer. Repair it, or have it declined in writing and disabled as local law "
                     "requires.",
                "H": "Repair it, or have it declined in writing with a written warning.",
                "M": "Advised in writing.", "L": "Noted.", "N": "Noted."}[self.value]


# Row: probability; column: severity 1, 2, 3, 4.
MATRIX: dict[Probability, str] = {
    Probability.A: "HSSS", Probability.B: "MSSS", Probability.C: "MSSS", Probability.D: "LHSS",
    Probability.E: "LMHS", Probability.F: "LLMH", Probability.G: "LLLM", Probability.H: "LLLL",
}
BY_WEIGHT = (Risk.SERIOUS, Risk.HIGH, Risk.MEDIUM, Risk.LOW, Risk.NONE)
MUST_ACT = frozenset({Risk.SERIOUS, Risk.HIGH})

EQUIPMENT = {1: "E1 hardly", 2: "E2 one part", 3: "E3 several parts", 4: "E4 transformer or irreplaceable part"}
FUNCTION = {0: "F0 none", 1: "F1 noticeable", 2: "F2 impaired", 3: "F3 dead"}


def risk_of(severity: int | None, probability: str | None) -> Risk | None:
    """The letter for a severity 0 to 4 and a probability a to h; None while either is still to be said."""
    if severity is None:
        return None
    if severity == Severity.NOBODY:
        return Risk.NONE
    if probability is None:
        return None
    return Risk(MATRIX[Probability(probability)][severity - 1])


def weight(severity: int | None, probability: str | None, equipment: int | None,
           function: int | None) -> tuple[int, ...]:
    """For sorting, gravest first: by risk letter, then equipment, then function. What is not judged yet comes first."""
    letter = risk_of(severity, probability)
    return (BY_WEIGHT.index(letter) if letter else -1, -(equipment or 0), -(function or 0))
