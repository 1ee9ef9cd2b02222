"""Ready-made records of the strip-down. Call inside `with transaction():`."""

from __future__ import annotations

from typing import Any

from app.db import session
from app.findings.models.findings import Finding
from app.findings.rules.life import Area
from app.findings.service import findings as findings_service
from app.findings.spec import FindingFacts
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from tests import factories
from tests.factories import NOW
from tests.people import BY


def order_at(stage: Stage = Stage.TEARDOWN) -> RepairOrder:
    """An order that stands at this stage: for pages, not for gates."""
    order = factories.order()
    order.stage = stage
    session().flush()
    return order


def facts(**given: Any) -> FindingFacts:
    """Resin wept from a supply capacitor; hospital, more than 1 in 10,000: high."""
    usual = {"area": Area.HT_SUPPLY, "observation": "second can of the supply has wept at its seal", "severity": 3,
             "probability": "e", "hazard": "it bursts beside whoever looks in", "check_words": "leakage at rated volts"}
    return FindingFacts(**{**usual, **given})


def finding(order: RepairOrder, **given: Any) -> Finding:
    found = findings_service.record_finding(order, facts(**given), by=BY, now=NOW)
    session().flush()
    return found
