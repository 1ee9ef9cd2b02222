"""The way back: the next step large, done by one tap; other ways of doing one; the reading that a step asks for."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.findings import queries as findings_queries
from app.kernel.form_fields import House, read_form
from app.kernel.local_forms import counted
from app.kernel.saving import Saved, save_or_reshow
from app.orders import power
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos import pins
from app.photos import queries as photos
from app.reassembly import planner
from app.reassembly.forms import DiffersForm, DoneForm, ForceForm, UndoForm
from app.reassembly.queries.cavities import by_cavity, host_of
from app.reassembly.queries.way import ReassemblyState, say_bake, say_part, seen_of, waiting_handover, way_back
from app.reassembly.queries.work import Balanced, balance_of, groups
from app.reassembly.service import steps as steps_service
from app.reassembly.views.common import bp, planned
from app.removals import queries as removals
from app.removals.drawing import drawn
from app.removals.spaces import Scope

THEN = 6  # groups of steps that are shown after the next one


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """The next step large; what follows, what waits and why, what dries, and the balance."""
    return _page(load_order(order_id), DoneForm())


def _page(order: RepairOrder, done: DoneForm) -> str:
    way, now = way_back(order), clock.now()
    ready = way.ready(now)
    step = ready[0] if ready else None
    later = [one for one in way.left if (step is None or one.id != step.id) and not way.dries(one.id, now)
             and not way.awaits(one.id) and not way.bakes(one.id)]
    runs = groups(way, [step, *later]) if step else groups(way, later)
    run = runs[0] if step else None
    unagreed = way.why_unagreed(step.id) if step else ""
    return render_template(
        "reassembly/page.html", order=order, way=way, step=step, run=run, unagreed=unagreed, then=runs[1:THEN + 1] if step else [],
        more=max(0, len(runs) - THEN - 1), waits=_waits(way),
        running=way.running(now), baking=[(bake.finding, bake) for bake in findings_queries.bake_outs(order,
                                                                                                      running=True)], now=now,
        weighed=_weighed(order, step), done=done, has_errors=done.has_errors, waiting=waiting_handover(order),
        on=power.powered(order.id), cavities=by_cavity(way), host=host_of(way, step.id) if step else "",
        last=max(way.records.values(), key=lambda one: one.id, default=None), seen=seen_of(order),
        lost=removals.open_losses(order), **_shown(way, step))


@bp.post("/do/<path:step>")
@may(May.WORK)
def do(order_id: int, step: str) -> Response | str:
    """Done; with `also` the alike ones that follow, too."""
    order = load_order(order_id, May.WORK)

    form = read_form(DoneForm)

    def act(saved: Saved) -> Response:
        now = clock.now()
        made = steps_service.do_steps(order, [step, *request.form.getlist("also")], authority=form.authority.data or "", by=actor(),
                                      now=now)
        fresh = [one for one in made if one.done_at == now]
        for stale in [one for one in made if one.done_at != now]:
            flash(f"{stale.label} was done already by {stale.done_by}, {power.clock_time(stale.done_at)}.", "saved")
        if fresh:
            flash(fresh[0].label + " is done." if len(fresh) == 1 else f"{counted(len(fresh), 'step')} are done.", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(form, act) or _page(order, form)


@bp.post("/seen")
@may(May.WORK)
def seen(order_id: int) -> Response | str:
    """The changes of the plan are noted."""
    order = load_order(order_id, May.WORK)

    def act(saved: Saved) -> Response:
        steps_service.see_plan(way_back(order, planned=False), by=actor(), now=clock.now())
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(read_form(House), act) or _page(order, DoneForm())


@bp.get("/step/<path:step>")
@may(May.SEE)
def one(order_id: int, step: str) -> str:
    """One step: what it waits for, and what to do when it is not like this."""
    order = load_order(order_id)
    return _step_page(order, step)


@bp.post("/differs/<path:step>")
@may(May.WORK)
def differs(order_id: int, step: str) -> Response | str:
    """It goes back otherwise than it came off."""
    order, form = load_order(order_id, May.WORK), read_form(DiffersForm)

    def act(saved: Saved) -> Response:
        made = steps_service.do_step(order, step, differs=form.differs.data, by=actor(), now=clock.now())
        flash(f"{made.label} is done, otherwise than it came off.", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(form, act) or _step_page(order, step, differs=form)


@bp.post("/force/<path:step>")
@may(May.WORK)
def force(order_id: int, step: str) -> Response | str:
    """It is done out of order, on purpose."""
    order, form = load_order(order_id, May.WORK), read_form(ForceForm)

    def act(saved: Saved) -> Response:
        made = steps_service.do_step(order, step, forced_reason=form.forced_reason.data, by=actor(), now=clock.now())
        flash(f"{made.label} is done, out of order.", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(form, act) or _step_page(order, step, force=form)


@bp.post("/undo/<path:step>")
@may(May.WORK)
def undo(order_id: int, step: str) -> Response | str:
    """Taken back, with a reason; counts and measurements after it fall with it."""
    order, form = load_order(order_id, May.WORK), read_form(UndoForm)

    def act(saved: Saved) -> Response:
        void = steps_service.undo_step(order, step, reason=form.why, by=actor(), now=clock.now())
        flash("Undone." + (f" To be done again: {'; '.join(void)}." if void else ""), "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(form, act) or _step_page(order, step, undo=form)


def _step_page(order: RepairOrder, step: str, *, differs: House | None = None, force: House | None = None,
               undo: House | None = None) -> str:
    way = planned(order, step)
    forms = {"done": DoneForm(), "differs": differs or DiffersForm(), "force": force or ForceForm(), "undo": undo or UndoForm()}
    return render_template("reassembly/step.html", order=order, way=way, step=way.steps[step], record=way.records.get(step),
                           now=clock.now(), host=host_of(way, step), on=power.powered(order.id), forms=forms,
                           has_errors=any(one.has_errors for one in forms.values()),
                           **_shown(way, way.steps[step]))


def _weighed(order: RepairOrder, step: planner.Step | None) -> Balanced:
    """The balance of the sub-assembly that is being worked on; of the whole job where there is but one."""
    return balance_of(order, Scope((step.unit or "") if step and len(removals.units(order)) > 1 else None))


def _shown(way: ReassemblyState, step: planner.Step | None) -> dict[str, object]:
    """The removal a step is about, its stack as a drawing and its photo from the strip-down."""
    removal = way.removal_of(step.id) if step else None
    line = removals.line_of(removal, way.order) if removal else None
    photo = photos.find(removal.photo_id) if removal and removal.photo_id else None
    photo = photo if photo and photo.struck_at is None else None
    own = [pin for pin in pins.of_record("removal", removal.id) if photo and pin.photo_id == photo.id] if removal else []
    return {"pins_here": own, "url_of": pins.url_of, "photo": photo,
            "removal": removal, "line": line, "drawings": drawn(removals.stacks_in_words(removal, way.order)) if removal else ()}


def _waits(way: ReassemblyState) -> list[tuple[str, str]]:
    """What waits for a measurement, a decision, a count or something drying, with what it waits for; the telling few."""
    told: dict[str, list[str]] = {}
    for step in way.left:
        dries = [f"{one.label} to dry" for one in way.dries(step.id, clock.now())]
        needs = [way.label(need) for need in way.waits_for(step.id) if way.kind(need) in ("measured", "decide", "powered", "dead")]
        parts = [say_part(part) for part in way.awaits(step.id)] + [say_bake(bake) for bake in way.bakes(step.id)]
        for words in (*needs, *dries, *parts) if way.kind(step.id) != "counted" else ():
            told.setdefault(words, []).append(way.label(step.id))
    return [(f"{names[0]}{f' and {len(names) - 1} more' if len(names) > 1 else ''}", need) for need, names in told.items()]
