"""The gates. Each stage registers what must hold before it is left; nobody can leave past an unmet one.

A later stage's gate includes all earlier ones, so that what was true once must still be true.
"""

from __future__ import annotations

from collections.abc import Callable

from app.errors import Missing
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage, up_to

Check = Callable[[RepairOrder], list[Missing]]
_checks: dict[Stage | End, list[Check]] = {}


def gate(of: Stage | End) -> Callable[[Check], Check]:
    """Register a check: it returns what is missing, each item with the page where it is done."""

    def register(check: Check) -> Check:
        registered = _checks.setdefault(of, [])
        if check not in registered:
            registered.append(check)
        return check

    return register


def missing_in(order: RepairOrder, of: Stage | End) -> tuple[Missing, ...]:
    """What this one stage (or end) still lacks."""
    return tuple(item for check in _checks.get(of, []) for item in check(order))


def missing_to_leave(order: RepairOrder) -> tuple[Missing, ...]:
    """What is missing before the order may leave the stage it stands in, earlier stages included."""
    return tuple(item for stage in up_to(order.stage) for item in missing_in(order, stage))


def first_missing(order: RepairOrder) -> tuple[Missing, ...]:
    """What a list needs to say: what the present stage lacks; only if that is nothing, what an earlier one lacks again."""
    for stage in reversed(up_to(order.stage)):
        if missing := missing_in(order, stage):
            return missing
    return ()


def guarded() -> frozenset[Stage | End]:
    """Every stage and end that has a gate."""
    return frozenset(_checks)
