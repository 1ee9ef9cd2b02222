"""The gates: what must hold before a stage (or an end) is left; nobody can leave past an unmet one.

Which there are is one visible tuple in app.gates, handed in when the application is built. A later stage's gate includes
all earlier ones, so that what was true once must still be true.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.errors import Missing
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage, up_to


@dataclass(frozen=True)
class Gate:
    """One check of one stage or end: it returns what is missing, each item with the page where it is done."""

    of: Stage | End
    check: Callable[[RepairOrder], list[Missing]]


_gates: tuple[Gate, ...] = ()


def use(gates: Sequence[Gate]) -> None:
    """Hold orders back by these gates from now on."""
    global _gates  # noqa: PLW0603 - the spine knows no room: they are handed in once
    _gates = tuple(gates)


def missing_in(order: RepairOrder, of: Stage | End) -> tuple[Missing, ...]:
    """What this one stage (or end) still lacks."""
    return tuple(item for gate in _gates if gate.of is of for item in gate.check(order))


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
    return frozenset(gate.of for gate in _gates)
