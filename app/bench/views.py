"""The bench list and the order's page."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from app import clock
from app.access.guard import may, person
from app.access.rules import May
from app.bench import queries
from app.bench.due import line_for_the_bench
from app.bench.first_setup.queries import setup
from app.bench.first_setup.rules import Setup
from app.bench.glossary import TERMS
from app.bench.panels import in_order
from app.errors import NotFound
from app.incidents import queries as incidents
from app.incidents.models import Incident
from app.incidents.rules import overdue
from app.intake.queries.sheets import complaint
from app.kernel.local_forms import counted
from app.measuring import doubts
from app.orders.loading import load_order
from app.orders.lugs import lugs
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage, next_stage
from app.orders.standing import of_order
from app.safety.models.profiles import Profile
from app.safety.queries import profile_in_force
from app.shop.queries import day, the_shop

bp = Blueprint("bench", __name__)


@bp.get("/")
@may(May.SEE)
def index() -> str:
    counts, stage = queries.open_by_stage(), _stage()
    in_all = sum(counts.values())
    total = in_all if stage is None else counts.get(stage, 0)
    page = min(max(request.args.get("page", 1, type=int), 1), max(1, -(-total // queries.SIZE)))
    by_risk = request.args.get("sort", "") == "risk"
    ended = queries.ended() if page == 1 else []
    return render_template("bench/index.html", by_risk=by_risk, rows=queries.rows(stage, page, by_risk=by_risk),
                           setup=_setup(empty=not in_all and not ended), ended=ended, changed_limits=_changed_limits(),
                           to_report=_to_report(), due=line_for_the_bench(clock.now()), in_doubt=_in_doubt(),
                           summary=_summary(counts), stage=stage,
                           page=page, size=queries.SIZE, total=total,
                           in_all=in_all, parts=[(one, counts[one]) for one in IN_ORDER if one in counts])


@bp.get("/glossary")
@may(May.SEE)
def glossary() -> str:
    """What the words mean."""
    return render_template("bench/glossary.html", terms=TERMS)


@bp.get("/orders/<int:order_id>")
@may(May.SEE)
def order(order_id: int) -> str:
    found = load_order(order_id)
    sheets = [(panel.template, panel.values(found)) for panel in in_order(found)]
    standing, told = of_order(found), complaint(order_id)
    return render_template("bench/order.html", order=found, standing=standing, lugs=_lugs(found, held=standing.held), sheets=sheets,
                           following=next_stage(found.stage), complaint=told.words if told else "")


def _to_report() -> list[tuple[Incident, bool]]:
    """Incidents whose report is due, each with whether its time is over."""
    now = clock.now()
    return [(one, overdue(one.due_at, settled=False, now=now)) for one in incidents.to_report()]


def _setup(*, empty: bool) -> Setup | None:
    """The first set-up, for the owner of a shop into which no amp has come yet."""
    return setup(clock.now().astimezone(the_shop().zone).date()) if empty and person().may(May.SETTINGS) else None


def _in_doubt() -> int:
    """For who keeps the instruments: how many readings in doubt are not settled. Calibrations that end stand in what is due."""
    return doubts.count_open() if person().may(May.INSTRUMENTS) else 0


def _changed_limits() -> Profile | None:
    """The profile in force if it was replaced or changed and the owner, who is looking, has not decided yet."""
    found = profile_in_force() if person().may(May.SETTINGS) else None
    return found if found is not None and found.to_look_at else None


def _lugs(order: RepairOrder, *, held: bool) -> tuple[object, ...]:
    zone = the_shop().zone
    left_on = {move.from_stage: day(move.at.astimezone(zone)) for move in order.moves}
    return lugs(order.stage, ended=order.ended_as, held=held, left_on=left_on)


def _stage() -> Stage | None:
    """The stage that the address asks for."""
    asked = request.args.get("stage", "")
    if asked and asked not in set(Stage):
        raise NotFound("There is no such stage. Choose one on the bench list.")
    return Stage(asked) if asked else None


def _summary(counts: dict[Stage, int]) -> str:
    """'11 amps in the house · 3 wait for a customer · 2 wait for parts'."""
    if not counts:
        return "No amps checked in"
    customer = counts.get(Stage.QUOTE, 0) + counts.get(Stage.RETURN, 0)
    told = [_many(sum(counts.values()), "amp checked in", "amps checked in"),
            _many(customer, "waits for a customer", "wait for a customer"),
            _many(counts.get(Stage.PARTS, 0), "waits for parts", "wait for parts")]
    return " · ".join(words for words in told if words)


def _many(count: int, one: str, more: str) -> str:
    return "" if count == 0 else counted(count, one, more)
