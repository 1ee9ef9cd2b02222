"""What moved between two rounds of bias readings, and whether somebody moved it. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.measuring.rules import Inputs, Relation, Verdict, judged
from app.powerup.rules.output import One

RISES = 0.05  # a current that is still going up: common practice, no source
WATCH_MINUTES = 3


@dataclass(frozen=True)
class Drift:
    """What moved between two rounds, as a share of the first, the valve it is worst for, and the verdict."""

    mark: str
    share: float
    verdict: Verdict


def drift(first: Sequence[One], later: Sequence[One], most: float, *, upwards: bool = False) -> Drift:
    """The valve whose cathode current moved most, against `most` (a share); `upwards`: only a rise counts."""
    worst = Drift("", 0.0, Verdict.PASS)
    before = {one.mark: one for one in first}
    for one in later:
        was = before.get(one.mark)
        if was is None or was.cathode_a <= 0:
            continue
        share = (one.cathode_a - was.cathode_a) / was.cathode_a
        size = share if upwards else abs(share)
        known = one.cathode_u is not None and was.cathode_u is not None
        unsure = math.hypot(one.cathode_u or 0.0, was.cathode_u or 0.0) / was.cathode_a if known else None
        verdict = judged(Inputs(size, Relation.IS, None, most, unsure)).verdict
        if _RANK[verdict] > _RANK[worst.verdict] or (verdict is worst.verdict and size > worst.share):
            worst = Drift(one.mark, size, verdict)
    return worst


def is_set_colder(before: Sequence[One], after: Sequence[One]) -> bool:
    """Whether a current fell by more than it does by itself between two rounds: the bias was set, and the watch begins anew."""
    was = {one.mark: one.cathode_a for one in before}
    return any(one.cathode_a < (1.0 - RISES) * was.get(one.mark, 0.0) for one in after)


_RANK = {Verdict.PASS: 0, Verdict.NOT_JUDGED: 1, Verdict.UNDECIDED: 2, Verdict.FAIL: 3}
