"""The gates: what must hold before a stage (or an end) is left; nobody can leave past an unmet one.

Which there are is one visible tuple in app.gates, handed in when the application is built; so are the clocks that run on an
order, and what says that its amp must not be energised. A later stage's gate includes all earlier ones, so that what was true
once must still be true.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from app.errors import Missing
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage, up_to


@dataclass(frozen=True)
class Gate:
    """One check of one stage or end: it returns what is missing, each item with the page where it is done."""

    of: Stage | End
    check: Callable[[RepairOrder], list[Missing]]


@dataclass(frozen=True)
class Clock:
    """Something of an order that comes by the clock alone, when, and the page where it is seen to.

    Without a text it is told to nobody: it only bounds how long what was worked out before can be relied on.
    """

    at: datetime
    text: str = ""
    endpoint: str = ""
    values: tuple[tuple[str, Any], ...] = ()


Clocks = Callable[[RepairOrder], list[Clock]]
Reason = Callable[[RepairOrder], str]
Told = Callable[[RepairOrder], Sequence[str]]

_gates: tuple[Gate, ...] = ()
_clocks: tuple[Clocks, ...] = ()
_nothing: Reason = lambda _order: ""  # noqa: E731 - until a room says otherwise
_none: Told = lambda _order: ()  # noqa: E731 - the same
_do_not_energise: Reason = _nothing
_discharged: Reason = _nothing
_declined_hazards: Told = _none


def use(gates: Sequence[Gate], clocks: Sequence[Clocks] = (), do_not_energise: Reason = _nothing,
        discharged: Reason = _nothing, declined_hazards: Told = _none) -> None:
    """Hold orders back by these gates from now on, with these clocks; the rest says why an amp must not be energised, by which
    readings it is shown discharged, and which hazards its customer declined.
    """
    global _gates, _clocks, _do_not_energise, _discharged, _declined_hazards  # noqa: PLW0603 - the spine knows no room
    _gates, _clocks, _do_not_energise, _discharged = tuple(gates), tuple(clocks), do_not_energise, discharged
    _declined_hazards = declined_hazards


def clocks_of(order: RepairOrder) -> list[Clock]:
    """What comes by the clock, soonest first; some of it may be past."""
    return sorted((clock for asked in _clocks for clock in asked(order)), key=lambda clock: clock.at)


def why_not_energise(order: RepairOrder) -> str:
    """Why the amp must not be energised; empty while it may be."""
    return _do_not_energise(order)


def shown_discharged(order: RepairOrder) -> str:
    """By which readings the amp is shown discharged; empty while it is not."""
    return _discharged(order)


def hazards_declined(order: RepairOrder) -> tuple[str, ...]:
    """Serious hazards of which the customer declined the cure and that nothing has cured since, each in words."""
    return tuple(_declined_hazards(order))


def missing_in(order: RepairOrder, of: Stage | End) -> tuple[Missing, ...]:
    """What this one stage (or end) still lacks."""
    return tuple(item for gate in _gates if gate.of is of for item in gate.check(order))


def missing_to_leave(order: RepairOrder) -> tuple[Missing, ...]:
    """What is missing before the order may leave the stage it stands in, earlier stages included."""
    return tuple(item for stage in up_to(order.stage) for item in missing_in(order, stage))


def guarded() -> frozenset[Stage | End]:
    """Every stage and end that has a gate."""
    return frozenset(gate.of for gate in _gates)
