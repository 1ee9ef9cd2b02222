"""What must hold before an amp is out of the house, in each way it may go, and before anything of that is recorded."""

from __future__ import annotations

from datetime import date

from app import clock
from app.errors import GateClosed, Missing
from app.handover import queries
from app.handover.rules import Lack, earliest, missing_items, missing_items_unrepaired, still_to_get_one
from app.orders.gates import missing_in, missing_to_leave
from app.orders.models import RepairOrder
from app.orders.stages import Stage, next_stage, up_to
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
    lacks = missing_items_unrepaired(facts)
    if not facts.written:  # nothing else is recorded before it is written why it leaves: all leads there first
        lacks = tuple(Lack(one.text, "unrepaired") for one in lacks)
    return _links(order, lacks)


def waited(order: RepairOrder) -> list[Missing]:
    """Notices are written down, their time has passed, and a person has said what became of the amp."""
    missing = notices_to_wait_for(order, clock.now().astimezone(the_shop().zone).date())
    if not missing and queries.disposal(order.id) is None:
        return [Missing("Check the law here, then write down what became of the amp.", "handover.disposal",
                        (("order_id", order.id),))]
    return missing


def notices_to_wait_for(order: RepairOrder, today: date) -> list[Missing]:
    """What the rule still asks before anybody may deal with an amp that nobody came for: readiness, notices, their time."""
    here, sent = (("order_id", order.id),), queries.counting_notices(order)
    if queries.ready_on(order) is None:
        return [Missing(f"It cannot be collected yet: it is at {order.stage.word.lower()}. Bring it to the return, or enter "
                        "why it leaves unrepaired.", "handover.unrepaired", here)]
    if not sent:
        return [Missing("Send the notice to collect and write it down.", "handover.notice", here)]
    last = sent[-1]
    over = earliest([one.given for one in sent], last.waiting)
    if (who := still_to_get_one([one.given for one in sent], last.waiting)) is not None:
        return [Missing(f"Send the notice to {who.value} as well: {last.rule} asks for it.", "handover.notice", here)]
    if over is None:
        return [Missing(f"Notice {len(sent)} of {last.wait_notices} is sent: send the next one.", "handover.notice", here)]
    if today < over:
        return [Missing(f"Wait until {day(over)}: the notice period is not over.", "handover.uncollected", here)]
    return []


def must_be_at_return(order: RepairOrder) -> None:
    """Refuse with all that is missing, and where to do it, while the order stands at an earlier stage."""
    if order.stage is Stage.RETURN:
        return
    there = next_stage(order.stage)
    move = Missing(f"Move it on to {there.word.lower() if there else 'the return'}.", "bench.order", (("order_id", order.id),))
    raise GateClosed(f"The amp is at {order.stage.word.lower()}. Nothing of its return is recorded before the return stage.",
                     missing_to_leave(order) or (move,))


def must_be_finished(order: RepairOrder) -> None:
    """The same, and refuse while anything of an earlier stage is open again: a void test, a mark “do not energise”."""
    must_be_at_return(order)
    again = tuple(item for stage in up_to(Stage.SAFETY_TEST) for item in missing_in(order, stage))
    if again:
        raise GateClosed("Something of an earlier stage is open again. See to it first.", again)


def must_be_going_out(order: RepairOrder) -> None:
    """What goes with an amp in either way: at the return, or from any stage once it is written why it leaves unrepaired."""
    if queries.unrepaired(order.id) is None:
        must_be_at_return(order)


def _links(order: RepairOrder, lacks: tuple[Lack, ...]) -> list[Missing]:
    return [Missing(lack.text, f"handover.{lack.part}", (("order_id", order.id),)) for lack in lacks]
