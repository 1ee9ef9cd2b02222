"""A valve rectifier in its supply, held against the ratings of its sheet.

A sheet rates a rectifier twice: by figures (mean and peak current, reverse volts, first capacitor), and by a table
or chart of whole supplies it may be used in (volts per anode, least resistance per anode, current).  The peak that
a supply computes to can lie above the figure in a supply that the same sheet publishes: the maker drew the table for
valves that stand it.  Such a supply is near its limit, not above it; outside the table the figure decides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.electrics.errors import ElectricsError, positive, within
from app.electrics.limits import Limit, limit
from app.electrics.supply.rectifiers import SpaceCharge
from app.electrics.supply.reservoir import Supply
from app.electrics.supply.steady import Source
from app.electrics.valves import Rectifier, Valve
from app.electrics.valves.lookup import find

_SQRT2 = math.sqrt(2.0)
_UNNAMED_FARAD = 40e-6  # first capacitor of the type's kin, where its own sheet names none: common practice, no source
_HAIR = 1.0 + 1e-9  # a rounding of the volts is not beyond the table's end


def _at(rows: Sequence[tuple[float, float]], volts: float) -> float:
    """The table's figure at `volts`: between two rows by the straight line, below the first that of the first, above
    the last on along its end (one row alone: in proportion)."""
    if volts <= rows[0][0]:
        return rows[0][1]
    if len(rows) == 1:
        return rows[0][1] * volts / rows[0][0]
    after = next((number for number, row in enumerate(rows) if volts <= row[0]), len(rows) - 1)
    low, high = rows[after - 1], rows[after]
    return low[1] + (high[1] - low[1]) * (volts - low[0]) / (high[0] - low[0])


def _most_a(sheet: Rectifier, volts: float) -> float:
    """The most mean current at these volts per anode: the rating, or less where the table takes it back.

    Beyond the table's end the last row's current stands: what falls there is said by the resistance and the volts.
    """
    if not sheet.supply_a:
        return sheet.mean_a
    return min(sheet.mean_a, _at(sheet.supply_a, min(volts, sheet.supply_a[-1][0])))


def _hot_peak(law: SpaceCharge, peak_v: float, ohm: float) -> float:
    """Peak of a plate that is hot when the mains comes on at its crest with the reservoir empty."""
    import numpy as np

    current, _slope = law.current(np.array([peak_v]), ohm)
    return float(current[0])


def _excused(one: Limit, words: str) -> Limit:
    """The same limit, near instead of above, because the sheet's own table has the supply."""
    if one.verdict != "above":
        return one
    note = f"{one.share:.0%} of the figure, but {words}"
    return replace(one, verdict="near", note=f"{note}; {one.note}" if one.note else note)


@dataclass(frozen=True)
class _Case:
    """A rectifier's entry in a supply: the volts per anode and what the sheet says about them."""

    entry: Valve
    sheet: Rectifier
    supply: Supply
    source: Source
    ohm: float
    farad: float

    @property
    def volts(self) -> float:
        return self.source.peak_v / _SQRT2

    def held(
        self, rating: str, name: str, found: float, allowed: float, unit: str, *, note: str = "", at_least: bool = False
    ) -> Limit:
        memory = self.sheet.mark_of(rating) == "M"
        source = f"{self.entry.name} data sheet, {'from memory' if memory else 'as seen quoted'}"
        if self.sheet.typed:
            source = self.sheet.source.text
        return limit(name, found, allowed, unit, source=source, note=note, at_least=at_least, unconfirmed=memory)

    def mean(self) -> Limit:
        plates = self.source.pulses
        note = "" if plates == 2 else "one plate alone: half of what the valve may pass with both"
        allowed = _most_a(self.sheet, self.volts) * plates / 2.0
        return self.held("mean_a", "mean current", self.supply.mean_load_a, allowed, "A", note=note)

    def peaks(self) -> list[Limit]:
        """The figures that a published supply is excused from."""
        law = None if self.sheet.perveance is None else SpaceCharge(self.sheet.perveance, 1)
        other = "" if self.source.law == law else "the supply was solved with another rectifier"
        idle = "with nothing drawn, the worst case"
        found = [self.held("peak_a", "peak current of a plate", self.supply.peak_diode_a, self.sheet.peak_a, "A", note=other)]
        if self.sheet.piv_v is not None:
            found.append(self.held("piv_v", "reverse voltage", self.supply.diode_piv_v, self.sheet.piv_v, "V", note=idle))
        if self.sheet.hot_switch_a is not None and law is not None:
            hot = "mains on at its crest, the valve still hot and the reservoir empty"
            peak = _hot_peak(law, self.source.peak_v, self.ohm)
            found.append(self.held("hot_switch_a", "hot-switching peak", peak, self.sheet.hot_switch_a, "A", note=hot))
        return found

    def table(self) -> list[Limit]:
        """What the sheet's table of supplies is made of."""
        found = []
        if self.sheet.first_capacitor_f is not None:
            found.append(self.held("first_capacitor_f", "first capacitor", self.farad, self.sheet.first_capacitor_f, "F"))
        if self.sheet.supply_ohm:
            ends = self.sheet.supply_ohm[-1][0]
            note = f"the sheet's table ends at {ends:g} V per anode; its line is drawn on" if self.volts > ends * _HAIR else ""
            least = _at(self.sheet.supply_ohm, self.volts)
            found.append(self.held("supply_ohm", "resistance per anode", self.ohm, least, "ohm", note=note, at_least=True))
        return found

    def published(self, limits: Sequence[Limit]) -> bool:
        """Whether the sheet's own table has a supply as hard as this one, or harder."""
        rows = self.sheet.supply_ohm
        if not rows or self.volts > rows[-1][0] * _HAIR:
            return False
        if self.sheet.first_capacitor_f is None and self.farad > _UNNAMED_FARAD * _HAIR:
            return False
        return all(one.verdict != "above" for one in limits)


def rectifier_limits(
    *, rectifier_valve: str | Valve, supply: Supply, source_ohm: float, reservoir_farad: float
) -> tuple[Limit, ...]:
    """Hold a solved supply against the sheet of its rectifier valve: one `Limit` a rating, in a fixed order.

    Mean current, peak current of a plate, reverse volts, hot-switching peak, first capacitor, least resistance per
    anode; a rating that the sheet does not name is left out.  rectifier_valve: a rectifier's name or entry.  supply:
    from `capacitor_input` or `reservoir_under`, for "full_wave_ct" (both plates) or "half_wave" (one plate).
    source_ohm: what stands in series with each anode, winding and reflected primary, above zero to 1 Mohm.
    reservoir_farad: 1 pF to 1000 F.

    `decides` marks the one that lies nearest to its limit or furthest beyond it.  Where the sheet's own table has
    the supply (volts, resistance, first capacitor and current), peak and reverse volts beyond their figures are
    "near" and say so.  Between rows the table is read along a straight line, below its first row as that row.
    Sources: the valve's entry, whose limits are mostly from memory of the sheet; the `source` of each says so.

    Raises ElectricsError for a valve that is no rectifier, a supply that `capacitor_input` did not make, and a
    bridge: the two plates of these valves share one cathode, so none of them can be its four separate diodes.
    """
    entry = rectifier_valve if isinstance(rectifier_valve, Valve) else find("rectifier_valve", rectifier_valve)
    sheet = entry.rectifier
    if sheet is None:
        raise ElectricsError("rectifier_valve", entry.name, "a rectifier")
    if not isinstance(supply, Supply) or supply.source is None:
        raise ElectricsError("supply", supply, "a result of capacitor_input")
    if supply.pulses_per_leg == 2:
        shared = f"full wave with a centre tap, or half wave: the plates of a {entry.name} share one cathode, so it cannot be the "
        raise ElectricsError("supply", "a bridge", shared + "four separate diodes of a bridge")
    ohm = within("source_ohm", positive("source_ohm", source_ohm), 1e-3, 1e6)
    case = _Case(entry, sheet, supply, supply.source, ohm, within("reservoir_farad", reservoir_farad, 1e-12, 1e3))
    mean, peaks, table = case.mean(), case.peaks(), case.table()
    judged = [mean, *peaks, *table]
    if case.published([mean, *table]):
        judged = [one for one in judged if one not in peaks or one.verdict != "above"]
        words = f"the sheet's own table has this supply, with {_at(sheet.supply_ohm, case.volts):.3g} ohm per anode"
        peaks = [_excused(one, words) for one in peaks]
    worst = max(judged, key=lambda one: one.share)
    return tuple(replace(one, decides=one is worst) for one in [mean, *peaks, *table])
