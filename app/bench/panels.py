"""What each room shows on the order's page: a template of the room's and the values for it.

A room adds itself here with one line. `values` takes the order and returns what the template needs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from app.intake import panel as intake_panel
from app.measuring import panel as measuring_panel
from app.orders.models import RepairOrder
from app.photos import panel as photos_panel
from app.teardown import panel as teardown_panel


@dataclass(frozen=True)
class Panel:
    """One sheet on the order's page."""

    template: str
    values: Callable[[RepairOrder], dict[str, Any]]


PANELS: tuple[Panel, ...] = (
    Panel("intake/_panel.html", intake_panel.values),
    Panel("photos/_panel.html", photos_panel.values),
    Panel("teardown/_panel.html", teardown_panel.values),
    Panel("measuring/_panel.html", measuring_panel.values),
)
