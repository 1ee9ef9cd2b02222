"""What every sum of an idle shares: how far valves and mains may be off, the verdict over its limits, the words of its valve."""

from __future__ import annotations

from collections.abc import Sequence

from app.bench.sums.kinds import Cited, VerdictKind, percent, tell
from app.electrics import Valve, usual_share
from app.electrics.limits import Limit

SPREAD = percent("spread", "Valve spread", "30", "A valve may be so much stronger or weaker than its sheet.", high=80.0)
SPREAD_READ = percent("spread", "Valve spread", "30", "Of the valves not read: 0 when each was.", high=80.0)
MAINS = percent("mains_tolerance", "Mains voltage variation", "10", "Moves HT, screens and bias together.")
USUAL_CITED = Cited("M", "Usual idle in class AB: 70 % of a design-centre rating, and as much heat under the other systems; "
                         "common practice, no source. Rating systems: IEC 60134.")
SPREAD_CITED = Cited("M", "30 % as the spread of new valves: common practice, no source.")
_WARM = 0.05  # of the rating: how far past the usual idle one is still at it


def verdict(entry: Valve, bars: Sequence[Limit], *, resting: bool = True) -> tuple[VerdictKind, str]:
    """The word over the heat of an anode and its fellows: what its rating's system is meant for decides, and green counts all.

    resting: the first bar is an idle, so that it can be warm or next to cut off; else the hottest of all drives.
    """
    deciding = next(number for number, one in enumerate(bars) if one.decides)
    if any(one.verdict == "above" for one in bars[: deciding + 1]):
        return "fail", "too hot"
    if any(one.verdict == "above" for one in bars[3:]):
        return "fail", "beyond a limit"
    if any(one.verdict == "above" for one in bars):
        return "doubt", "too hot at worst"
    nominal = bars[0]
    if resting and nominal.share < 0.02:
        return "doubt", "next to cut off"
    if resting and nominal.share > usual_share(entry) + _WARM:
        return "doubt", "warm"
    if any(one.verdict == "near" for one in bars):
        return "doubt", "near a limit at worst"
    if any(one.unconfirmed for one in bars):
        return "doubt", "within a limit from memory"
    return "pass", "within the limit typed here" if entry.limits().system == "typed here" else "within the limit"


def remarks(entry: Valve) -> tuple[str, ...]:
    """What the valve's entry remarks, and what its rating system means for the usual idle."""
    usual = usual_share(entry)
    of_system = f"Usual idle: {tell(float(usual), '%', 2)} of {entry.anode_limit_w():g} W; {usual.note}."
    return (of_system, *((f"{entry.name}: {entry.remark}.",) if entry.remark else ()))
