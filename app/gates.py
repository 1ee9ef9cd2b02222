"""Every gate of the house, in the order in which a person reads what is missing."""

from __future__ import annotations

from app.documents import gate as documents
from app.findings import gate as findings
from app.handover import gate as handover
from app.intake import gate as intake
from app.orders.gates import Gate
from app.orders.power import Check
from app.orders.stages import End, Stage
from app.parts import gate as parts
from app.quote import gate as quote
from app.reassembly import gate as reassembly
from app.removals import gate as removals
from app.safety import gate as safety

GATES: tuple[Gate, ...] = (
    Gate(Stage.INTAKE, intake.intake_finished),
    Gate(Stage.TEARDOWN, findings.made_safe),
    Gate(Stage.TEARDOWN, findings.findings_decided),
    Gate(Stage.TEARDOWN, removals.everything_is_tagged),
    Gate(Stage.QUOTE, quote.quote_answered),
    Gate(Stage.PARTS, parts.parts_here),
    Gate(Stage.REASSEMBLY, reassembly.nothing_is_left),
    Gate(Stage.REASSEMBLY, reassembly.nothing_is_lost_or_unexplained),
    Gate(Stage.REASSEMBLY, reassembly.hazards_are_acted_on),
    Gate(Stage.REASSEMBLY, reassembly.no_part_lies_about),
    Gate(Stage.REASSEMBLY, reassembly.nothing_is_in_the_warmth),
    Gate(Stage.SAFETY_TEST, safety.may_be_energised),
    Gate(Stage.SAFETY_TEST, safety.readings_judged),
    Gate(Stage.SAFETY_TEST, safety.findings_proved),
    Gate(Stage.SAFETY_TEST, safety.test_passed),  # earth and insulation before hours on mains
    Gate(Stage.SAFETY_TEST, safety.soaked),
    Gate(Stage.RETURN, handover.handed_over),  # its sheets and the signature are asked for before the report
    Gate(Stage.RETURN, documents.report_issued),
    Gate(End.REPAIRED, handover.passed_and_stands),
    Gate(End.UNREPAIRED, handover.warned),
    Gate(End.UNREPAIRED, documents.label_issued),
    Gate(End.UNCOLLECTED, handover.waited),
)

# What speaks against putting an amp on power.
POWER_CHECKS: tuple[Check, ...] = (reassembly.closed_up, safety.earth_not_measured)
