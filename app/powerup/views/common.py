"""The blueprint of a first power-up, and how its views come by a run and its instruments."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint

from app import clock
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.powerup import queries
from app.powerup.models import PowerUpEntry, PowerUpRun
from app.powerup.rounds import found_of, verdict_of
from app.powerup.rules.course import Go, go_of
from app.powerup.rules.output import OutputFound, limits_from_memory

bp = Blueprint("powerup", __name__, url_prefix="/orders/<int:order_id>/first-power-up")


def load_run(order_id: int, what: May = May.TEST) -> tuple[RepairOrder, PowerUpRun]:
    """An order with its newest run."""
    order = load_order(order_id, what)
    run = queries.run_of(order_id)
    if run is None:
        raise NotFound("No first power-up was begun on this order.")
    return order, run


def meters() -> tuple[list[Instrument], dict[int, str]]:
    """The instruments that may be read, and how each stands today."""
    today = measuring.today(clock.now())
    found = [one for one in measuring.usable() if one.kind.measures]
    return sorted(found, key=lambda one: not one.standing(today).counts), {one.id: one.standing(today).value for one in found}


def meter(instrument_id: int | None, field: str) -> Instrument:
    """The instrument that was chosen."""
    found = measuring.find_instrument(instrument_id) if instrument_id else None
    if found is None:
        raise BadInput("Choose an instrument.", field)
    return found


@dataclass(frozen=True)
class SaidOfRound:
    """A round as a page says it: its entry, what it comes to (None: no verdict by its valve), its word and why."""

    entry: PowerUpEntry
    found: OutputFound | None
    go: Go
    why: str


def said_of(run: PowerUpRun, step: int | None = None) -> list[SaidOfRound]:
    """The rounds of bias readings of a run, or of one of its steps, newest first."""
    from_memory = bool(limits_from_memory(run.valve))
    found = []
    for one in queries.rounds_of(run):
        if one.round is None or step is not None and one.step != step:
            continue
        verdict, why = verdict_of(run, one)
        found.append(SaidOfRound(one, found_of(run, one.round), go_of(verdict, from_memory=from_memory), why))
    return found
