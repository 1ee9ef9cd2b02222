"""What an order waits for, and how its strip is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from app.errors import Missing
from app.orders.gates import first_missing, missing_to_leave
from app.orders.lugs import Lug, lugs
from app.orders.models import RepairOrder
from app.orders.stages import Stage, next_stage
from app.shop.queries import day


@dataclass(frozen=True)
class Standing:
    """Where an order stands: its strip, what is missing, and the next needed thing in words."""

    order: RepairOrder
    lugs: tuple[Lug, ...]
    missing: tuple[Missing, ...]
    following: Stage | None
    complaint: str = ""

    @property
    def next_words(self) -> str:
        if not self.order.is_open:
            return self.order.ended_as.word if self.order.ended_as else ""
        if self.missing:
            return self.missing[0].text
        if self.following:
            return f"Nothing is missing: move on to {self.following.word.lower()}."
        return "Everything is ready: hand the amp out."


def standing(order: RepairOrder, zone: ZoneInfo, complaint: str = "") -> Standing:
    """Work out where an order stands; `complaint` is what the customer said of it."""
    return _standing(order, missing_to_leave(order) if order.is_open else (), zone, complaint)


def standing_in_list(order: RepairOrder, zone: ZoneInfo, complaint: str = "") -> Standing:
    """The same for a row of a list, where only the next needed thing is said: fewer gates are asked."""
    return _standing(order, first_missing(order) if order.is_open else (), zone, complaint)


def _standing(order: RepairOrder, missing: tuple[Missing, ...], zone: ZoneInfo, complaint: str) -> Standing:
    left_on = {move.from_stage: day(move.at.astimezone(zone)) for move in order.moves}
    drawn = lugs(order.stage, ended=not order.is_open, held=any(one.holds for one in missing), left_on=left_on)
    first_what_holds = tuple(sorted(missing, key=lambda one: not one.holds))
    return Standing(order, drawn, first_what_holds, next_stage(order.stage), complaint)
