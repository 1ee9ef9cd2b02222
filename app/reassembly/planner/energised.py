"""Between the stages with the mains on: before which steps the amp is live, and before which it must be dead again."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from app.reassembly.planner.steps import Step


class Power(StrEnum):
    """What a step needs of the mains.

    A capacitor keeps its charge when the plug is out: whoever puts a hand in discharges first, measures that it is dead,
    and measures again before the next. Local rules and licensed practice govern. (Common practice, no source.)
    """

    OFF = "off"
    LIVE = "live"  # done with the mains on
    DISCHARGE_FIRST = "discharge first"  # the amp was live just before: switch off, unplug, discharge, measure


def power_states(order: Iterable[Step]) -> dict[str, Power]:
    """Step id → what it needs, for an order in which the steps are done. Before the first stage the amp was never on."""
    found: dict[str, Power] = {}
    live = False
    for step in order:
        found[step.id] = Power.LIVE if step.powered else Power.DISCHARGE_FIRST if live else Power.OFF
        live = step.powered
    return found
