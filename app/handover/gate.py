"""What must hold before an amp is out of the house, in each way it may go."""

from __future__ import annotations

from app import clock
from app.errors import Missing
from app.handover import queries
from app.handover.rules import Lack, earliest, missing_items, missing_items_unrepaired, still_to_get_one
from app.orders.models import RepairOrder
from app.safety.queries import last_test_passed
from app.shop.queries import day, the_shop


def handed_over(order: RepairOrder) -> list[Missing]:
    """Accessories, old parts, sums, the amp shown, a signature for what stands."""
    return _links(order, missing_items(queries.facts(order)))


def passed_and_stands(order: RepairOrder) -> list[Missing]:
    """Asked once more at the door: the last safety test passed, and nothing has made it void since."""
    if last_test_passed(order):
        return []
    return [Missing("The last safety test did not pass, or no longer counts: the amp does not leave as repaired.", "safety.page",
                    (("order_id", order.id),))]


def warned(order: RepairOrder) -> list[Missing]:
    """It is said why, something keeps it from being switched on, all goes with it, and the warning was acknowledged."""
    facts = queries.unrepaired_facts(order)
    return _links(order, missing_items_unrepaired(facts))


def waited(order: RepairOrder) -> list[Missing]:
    """Notices are written down, their time has passed, and a person has said what became of the amp."""
    here, sent = (("order_id", order.id),), queries.standing_notices(order.id)
    if not sent:
        return [Missing("Send the notice to collect and write it down.", "handover.notice", here)]
    last = sent[-1]
    over = earliest([one.given for one in sent], last.waiting)
    if (who := still_to_get_one([one.given for one in sent], last.waiting)) is not None:
        return [Missing(f"Send the notice to {who.value} as well: {last.rule} asks for it.", "handover.notice", here)]
    if over is None:
        return [Missing(f"Notice {len(sent)} of {last.wait_notices} is sent: send the next one.", "handover.notice", here)]
    if clock.now().astimezone(the_shop().zone).date() < over:
        return [Missing(f"Wait until {day(over)}: the notice period is not over.", "handover.uncollected", here)]
    if queries.disposal(order.id) is None:
        return [Missing("Check the law here, then write down what became of the amp.", "handover.disposal", here)]
    return []


def _links(order: RepairOrder, lacks: tuple[Lack, ...]) -> list[Missing]:
    return [Missing(lack.text, f"handover.{lack.part}", (("order_id", order.id),)) for lack in lacks]
