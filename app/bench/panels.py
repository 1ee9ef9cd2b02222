"""What each room shows on the order's page: a template of the room's and the values for it.

A room adds itself here with one line. `values` takes the order and returns what the template needs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from app.bench.sums import panel as sums_panel
from app.circuits import panel as circuits_panel
from app.contact import panel as contact_panel
from app.documents import panel as documents_panel
from app.drawings import panel as drawings_panel
from app.findings import panel as teardown_panel
from app.handover import panel as handover_panel
from app.hours import panel as hours_panel
from app.intake import panel as intake_panel
from app.measuring import panel as measuring_panel
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts import panel as parts_panel
from app.photos import panel as photos_panel
from app.powerup import panel as powerup_panel
from app.quote import panel as quote_panel
from app.reassembly import panel as reassembly_panel
from app.removals import panel as removals_panel
from app.safety import panel as safety_panel


@dataclass(frozen=True)
class Panel:
    """One sheet on the order's page."""

    template: str
    values: Callable[[RepairOrder], dict[str, Any]]
    at: frozenset[Stage] = frozenset()
    """The stages whose work is on this sheet: it comes first while the order stands there."""


def in_order(order: RepairOrder) -> list[Panel]:
    """The sheets of an order: first those of the stage it stands in, then the rest in the order of the house."""
    if not order.is_open:
        return list(PANELS)
    return sorted(PANELS, key=lambda panel: order.stage not in panel.at)


PANELS: tuple[Panel, ...] = (
    Panel("hours/_panel.html", hours_panel.values, frozenset({Stage.TEARDOWN, Stage.PARTS, Stage.REASSEMBLY})),
    Panel("intake/_panel.html", intake_panel.values, frozenset({Stage.INTAKE})),
    Panel("contact/_panel.html", contact_panel.values, frozenset({Stage.QUOTE, Stage.RETURN})),
    Panel("photos/_panel.html", photos_panel.values),
    Panel("drawings/_panel.html", drawings_panel.values),
    Panel("findings/_panel.html", teardown_panel.values, frozenset({Stage.TEARDOWN})),
    Panel("removals/_panel.html", removals_panel.values, frozenset({Stage.TEARDOWN, Stage.REASSEMBLY})),
    Panel("quote/_panel.html", quote_panel.values, frozenset({Stage.QUOTE})),
    Panel("parts/_panel.html", parts_panel.values, frozenset({Stage.PARTS})),
    Panel("reassembly/_panel.html", reassembly_panel.values, frozenset({Stage.REASSEMBLY})),
    Panel("powerup/_panel.html", powerup_panel.values, frozenset({Stage.REASSEMBLY, Stage.SAFETY_TEST})),
    Panel("measuring/_panel.html", measuring_panel.values, frozenset({Stage.SAFETY_TEST})),
    Panel("circuits/_panel.html", circuits_panel.values, frozenset({Stage.TEARDOWN})),
    Panel("sums/_panel.html", sums_panel.values),
    Panel("safety/_panel.html", safety_panel.values, frozenset({Stage.SAFETY_TEST})),
    Panel("handover/_panel.html", handover_panel.values, frozenset({Stage.RETURN})),
    Panel("documents/_panel.html", documents_panel.values),
)
