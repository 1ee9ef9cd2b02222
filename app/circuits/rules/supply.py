"""A reservoir as the circuit sees it: the volts it gives at a current, from winding, rectifier and capacitor. Pure.

`capacitor_input` solves the supply for each current; about the point where the amplifier draws what it draws, the reservoir is
a source of volts behind a resistance, whose volts follow the mains: a supply's volts at f times the mains and f times the
current are f times what they were (exactly for a resistive source, nearly for a rectifier's drop).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from app.circuits.rules.blocks import RECTIFIERS, SILICON, Block, Sheet
from app.electrics import LC, RC, ElectricsError, Supply, capacitor_input, filter_chain

_APART = 0.05


@dataclass(frozen=True)
class Feed:
    """What stands before a reservoir. vrms: open circuit; ohm: winding, the primary's share and any resistor, per leg."""

    reservoir: str
    vrms: float
    rectifier: str
    ohm: float
    farad: float
    hz: float
    drop: str | None

    def at(self, load_a: float) -> Supply:
        """The supply with so much drawn from its reservoir; ElectricsError if it cannot give that."""
        return capacitor_input(secondary_vrms=self.vrms, rectifier=self.rectifier, source_ohm=self.ohm, reservoir_farad=self.farad,
                               mains_hz=self.hz, load_a=load_a, drop=self.drop)

    def line(self, load_a: float) -> tuple[float, float]:
        """(volts, ohm) of the source that stands for it about this current."""
        low, high = load_a * (1 - _APART), load_a * (1 + _APART)
        slope = (self.at(low).mean_v - self.at(high).mean_v) / (high - low)
        return self.at(load_a).mean_v + load_a * slope, max(slope, 1e-3)


def feed_of(reservoir: Block, sheet: Sheet, factor: float) -> Feed:
    """The feed of a reservoir that is known, at `factor` times the tap's volts."""
    rectifier = _block(sheet, reservoir.word("fed_by"))
    winding = _block(sheet, rectifier.word("fed_by"))
    mains = _block(sheet, winding.word("fed_by"))
    volt = winding.number("volt")
    primary = (mains.of("primary_ohm").number or 0.0) * (volt / mains.number("tap_v")) ** 2
    drop = rectifier.word("drop")
    return Feed(reservoir.name, volt * factor, RECTIFIERS[rectifier.word("arrangement")],
                winding.number("ohm") + primary + (rectifier.of("limit_ohm").number or 0.0), reservoir.number("farad"),
                mains.number("hz"), None if drop.lower() == SILICON else drop)


def _block(sheet: Sheet, name: str) -> Block:
    found = sheet.block(name)
    if found is None:
        raise KeyError(name)
    return found


@dataclass(frozen=True)
class Rail:
    """One rail in use: mean volts and ripple (peak to peak, and the true rms of it), the volts with nothing drawn, and the current
    through what feeds it. way: the blocks from the reservoir to it.
    """

    name: str
    mean_v: float
    ripple_vpp: float
    ripple_vrms: float
    ripple_hz: float
    no_load_v: float
    current_a: float
    way: tuple[str, ...]


def rails_of(feed: Feed, sheet: Sheet, current: dict[str, float]) -> tuple[Rail, ...]:
    """Every rail after a reservoir, by `filter_chain`; current: what the whole sheet draws through each, by its name.

    Where a chain forks, each way is solved with the other's current drawn where they part.
    """
    whole = feed.at(current[feed.reservoir])
    first = feed.reservoir
    found = {first: Rail(first, whole.mean_v, whole.ripple_vpp, whole.ripple_vrms, whole.ripple_hz, whole.no_load_v,
                         current[first], (first,))}
    for end in (one for one in sheet.blocks if one.name in current and one.name != feed.reservoir):
        way = _way(end, sheet, feed.reservoir, current)
        if way and end.name not in found:
            node = filter_chain(whole, [_stage(one, way, current) for one in way])[-1]
            found[end.name] = Rail(end.name, node.mean_v, node.ripple_vpp, node.ripple_vrms, whole.ripple_hz, node.no_load_v,
                                   node.current_a, (first, *(one.name for one in way)))
    return tuple(found.values())


def _way(end: Block, sheet: Sheet, reservoir: str, current: dict[str, float]) -> list[Block]:
    way, at = [end], end
    while (above := at.word("fed_by")) != reservoir:
        if above not in current:
            return []
        at = _block(sheet, above)
        way.insert(0, at)
    return way


def _stage(block: Block, way: list[Block], current: dict[str, float]) -> RC | LC:
    place = way.index(block)
    onward = current[way[place + 1].name] if place + 1 < len(way) else 0.0
    drawn = max(current[block.name] - onward, 0.0)
    if block.of("henry").number is not None:
        return LC(block.number("henry"), block.number("ohm"), block.number("farad"), drawn)
    return RC(block.number("ohm"), block.number("farad"), drawn)


@dataclass(frozen=True)
class SupplyFault:
    """A fault before the reservoir, as the feed that it leaves."""

    part: str
    kind: Literal["dried", "open"]
    size: float | None
    feed: Feed


def supply_faults(feed: Feed, sheet: Sheet) -> tuple[SupplyFault, ...]:
    """A dried reservoir and half a rectifier gone: what no circuit at rest has a part for."""
    reservoir = _block(sheet, feed.reservoir)
    found = [SupplyFault(f"{reservoir.name}.farad", "dried", share, replace(feed, farad=feed.farad * share))
             for share in (0.3, 0.1, 0.03)]
    if feed.rectifier in ("full_wave_ct", "bridge"):
        rectifier = reservoir.word("fed_by")
        found.append(SupplyFault(f"{rectifier}.drop", "open", None, replace(feed, rectifier="half_wave")))
    return tuple(found)


def volts_with(feed: Feed, ohm: float, load_a: float) -> float | None:
    """The volts that the circuit's source behind `ohm` comes to with this feed and load; None if it gives no such current."""
    try:
        return feed.at(load_a).mean_v + load_a * ohm
    except ElectricsError:  # an emptied reservoir explains no reading of a working one
        return None
