"""Trials without the fault: what they show, and what they do not. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

CONFIDENCE = 0.95
SOURCE = "rule of three: Hanley and Lippman-Hand, Journal of the American Medical Association 249 (1983), 1743, from memory"
COLD_STARTS = 3  # common practice, no source
TAPS = 10


class TrialKind(StrEnum):
    """What was tried again and again."""

    COLD_START = "cold start"
    TAP = "tap"
    SWITCHING = "switching on and off"
    LEAD = "lead moved"

    @property
    def item(self) -> str:
        """The item of the run that such trials answer; empty for those that none asks for."""
        return {"cold start": "cold starts", "tap": "taps"}.get(self.value, "")

    @property
    def least(self) -> int:
        """How many the run asks for."""
        return {"cold start": COLD_STARTS, "tap": TAPS}.get(self.value, 1)


def upper_bound(trials: int) -> float:
    """The greatest chance for each trial that so many without the fault leave open at 95 %: 1 - 0.05^(1/n), about 3/n.

    ValueError below one trial.
    """
    if trials < 1:
        raise ValueError("at least one trial")
    return 1.0 - float((1.0 - CONFIDENCE) ** (1.0 / trials))


@dataclass(frozen=True)
class Tried:
    """So many trials of a kind, and in how many of them it showed."""

    kind: TrialKind
    trials: int
    shown: int

    @property
    def words(self) -> str:
        """'not reproduced in 30 trials: at most 9.5 % a trial (95 %)'; never more than the trials say."""
        many = f"{self.trials} trial{'' if self.trials == 1 else 's'}"
        if self.shown:
            return f"shown in {self.shown} of {many}"
        return f"not reproduced in {many}: it may still come in up to {upper_bound(self.trials) * 100:.2g} % of them (95 %)"
