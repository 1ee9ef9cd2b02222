"""What a first power-up holds an amp back for."""

from __future__ import annotations

from app.errors import Missing
from app.orders.models import RepairOrder
from app.powerup import hands, queries
from app.powerup.models import PowerUpRun

TEST = 15  # the step that the safety test answers


def asks(order: RepairOrder) -> bool:
    """Whether this order needs a finished run: one was begun on it, unless the owner has answered for it since."""
    run, waiver = queries.run_of(order.id), queries.waiver_of(order.id)
    if run is None:
        return False
    return waiver is None or run.ended_at is None or waiver.at < run.ended_at


def why_fallen(run: PowerUpRun) -> str:
    """Why a finished run no longer says what it did, in a sentence; empty while it does. The safety test has a gate of its own."""
    if run.ended_at is None:
        return ""
    if later := hands.why_after(run, run.ended_at):
        return f"After that, {later}."
    state = next((one for one in queries.where(run.id).states if one.step.number < TEST and not one.is_done), None)
    return f"Its step {state.step.number} does not stand any more: {state.step.title}." if state else ""


def powered_up(order: RepairOrder) -> list[Missing]:
    """A run that was begun is finished; one that was aborted holds the amp until its finding is decided and it was resumed."""
    run = queries.run_of(order.id)
    if run is None or not asks(order):
        return []
    here = (("order_id", order.id),)
    if run.finished:
        why = why_fallen(run)
        return [Missing(f"First power-up {run.number} was finished. {why} Begin another one, or the owner enters why it may leave "
                        "without.", "powerup.page", here)] if why else []
    if run.ended_at is not None:
        return [Missing(f"First power-up {run.number} was stopped: {run.stopped_why.rstrip('.')}. Begin another one, or the owner "
                        "enters why it may leave without.", "powerup.page", here)]
    found = queries.where(run.id)
    if found.abort is not None:
        return [Missing(f"First power-up aborted at step {found.abort.step}: decide on finding {found.abort.finding.number}, then "
                        "resume the run.", "powerup.page", here, holds=True)]
    state = next((one for one in found.states if not one.is_done), None)
    words = f"First power-up: step {state.step.number}, {state.step.title.lower()}." if state else \
        "First power-up: every step is done. Finish the run."
    return [Missing(words, "powerup.page", here)]
