"""What must hold before an amp leaves the safety test, and before it leaves the shop as repaired."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from app.electrics import bond_limit
from app.errors import Missing
from app.findings import queries as findings_queries
from app.findings.models.findings import Finding
from app.findings.rules.life import Status, why_not_proved
from app.kernel.local_forms import counted
from app.measuring import queries as measuring
from app.measuring.models import Point, Reading
from app.measuring.rules import Verdict
from app.orders import power
from app.orders.models import RepairOrder
from app.parts import queries as parts
from app.reassembly.queries.way import way_back
from app.records.rules import ProtectionClass
from app.safety import queries
from app.safety.models.testing import SafetyTest
from app.safety.rules import Result, StepKind

Here = tuple[tuple[str, Any], ...]
UNCONFIRMED = "not confirmed by the owner yet"


def readings_judged(order: RepairOrder) -> list[Missing]:
    """Every point read as left; none failed or in doubt without an explanation."""
    if not measuring.points_of(order):
        return [Missing("Add the points and read them as left.", "measuring.page", _here(order))]
    for since, why in _changed_at(order):
        again = [row.point for row in measuring.as_found_as_left(order) if row.as_left and row.as_left.at < since]
        if again:
            return [Missing(f"Read {point.name} as left again: {why} after it was read.", "measuring.take",
                            (*_here(order), ("point_id", point.id))) for point in again]
    return [_reading_missing(order, point, reading) for point, reading in measuring.unexplained(order)]


def _changed_at(order: RepairOrder) -> list[tuple[datetime, str]]:
    """When the amp last became another than it was, and how."""
    back = queries.left_the_test_at(order)
    found = [(back, "the order went back")] if back else []
    return found + [(one.fitted_at, f"{one.title} was fitted") for one in parts.fitted(order) if one.fitted_at]


def may_be_energised(order: RepairOrder) -> list[Missing]:
    """Whatever was marked “do not energise” was dealt with, and somebody has said how."""
    standing = power.do_not_energise(order.id)
    return [Missing(f"It is marked “do not energise”: {standing.reason}. Deal with the danger, then remove the mark.",
                    "intake.lift",
                    _here(order), holds=True)] if standing else []


def earth_not_measured(order: RepairOrder) -> str:
    """What speaks against power while no earth has been measured on the amp as it is; empty for class II."""
    if order.amp.protection_class is ProtectionClass.II:
        return ""
    test = queries.standing_test(order)
    if test is not None and any(step.kind is StepKind.BOND and step.verdict is Verdict.PASS for step in test.steps):
        return ""
    way = way_back(order, planned=False)
    if any(way.origins[step][0] == "PE" and kept.reading_id for step, kept in way.records.items() if step in way.origins):
        return ""
    return "Its protective earth has not been measured since it was last opened."


def earth_limit(order: RepairOrder) -> tuple[float, str] | None:
    """The greatest earth resistance by the profile in force, ohms, and what it rests on; None while none is.

    A limit that is computed for each lead is computed for the usual one, as the profile's own page says.
    """
    profile = queries.profile_in_force()
    step = next((one for one in profile.steps if one.kind is StepKind.BOND), None) if profile else None
    if profile is None or step is None:
        return None
    upper = float(bond_limit(profile=step.rule, lead_metre=3.0, mm2=1.0)) if step.rule else step.upper
    if upper is None:
        return None
    lead = ", with 3 m of 1 mm²" if step.rule else ""
    doubt = f", {UNCONFIRMED}" if profile.unconfirmed else ""
    return upper, f"{profile.title}, {step.title}{lead}{doubt}; bench proof before any other mains conductor is joined"


def insulation_limit(order: RepairOrder) -> tuple[float, float | None, str] | None:
    """The least insulation by the profile in force, ohms, the volts it is tested at, and what that rests on; None while none is."""
    profile = queries.profile_in_force()
    if profile is None:
        return None
    protection = "II" if order.amp.protection_class is ProtectionClass.II else "I"
    step = next((one for one in profile.steps if one.kind is StepKind.INSULATION and one.lower is not None and not one.absent
                 and one.applies.covers(protection)), None)
    if step is None or step.lower is None:
        return None
    doubt = f", {UNCONFIRMED}" if profile.unconfirmed else ""
    return step.lower, step.least_level, f"{profile.title}, {step.title}{doubt}; bench proof when every mains conductor is joined"


def findings_proved(order: RepairOrder) -> list[Missing]:
    """Each finding's check recorded, unless it was declined in writing or withdrawn; what it rests on still stands."""
    missing = [Missing(_proof_words(one), "safety.prove", (*_here(order), ("finding_id", one.id)))
               for one in findings_queries.open_findings(order)]
    proved = {finding.id: finding for finding in findings_queries.findings_of(order) if finding.status is Status.PROVED}
    return missing + [Missing(f"{proved[number].called}: the reading that proved it was corrected. Reopen it and prove it again.",
                              "findings.reopen", (*_here(order), ("finding_id", number)))
                      for number, proof in queries.proof_readings(list(proved)).items() if proof.reading.corrected_by]


def soaked(order: RepairOrder) -> list[Missing]:
    """A soak run that was long enough and without the symptom."""
    if queries.running_soak(order) is not None:
        return [Missing("The soak run is on: end it and say what was seen.", "safety.soak", _here(order))]
    why = queries.why_no_soak(order)
    if why and (first := queries.why_not_proven(order)):
        return [Missing(f"The soak run comes after earth and insulation: {first}", "safety.page", _here(order))]
    return [Missing(f"{why} Do the soak run.", "safety.soak", _here(order))] if why else []


def test_passed(order: RepairOrder) -> list[Missing]:
    """The last completed test passed, under confirmed limits, and the chassis has stayed closed since."""
    running, last = queries.running_test(order), queries.last_completed(order)
    if running is not None and not queries.why_void(running):
        left = sum(step.verdict is None for step in running.steps)
        words = f"Finish the safety test: {counted(left, 'step')} to go." if left else \
            "Complete the safety test: its result is computed."
        return [Missing(words, "safety.test", (*_here(order), ("test_id", running.id)))]
    if queries.last_test_passed(order):
        return []
    if queries.profile_in_force() is None:
        return [Missing("Choose the safety profile in force: the owner does it.", "profiles.page")]
    failed = last is not None and last.result is Result.FAIL
    return [Missing(_why_test(running or last), "safety.page", _here(order), holds=failed)]


def _why_test(test: SafetyTest | None) -> str:
    if test is None:
        return "Do the safety test."
    if why := queries.why_void(test):
        return f"Safety test {test.number} is void. {why} Test again."
    if test.result is Result.FAIL:
        return f"Safety test {test.number} failed. Repair it and test again."
    return f"Safety test {test.number} is incomplete. Test again."


def _reading_missing(order: RepairOrder, point: Point, reading: Reading | None) -> Missing:
    here = (*_here(order), ("point_id", point.id))
    if reading is None:
        return Missing(f"Read {point.name} as left.", "measuring.take", here)
    where = (*_here(order), ("reading_id", reading.id))
    if point.band or reading.band:
        return Missing(f"{point.name} is {_verdict(reading)}: repair it and read it again, or enter why it is acceptable.",
                       "measuring.explain", where)
    return Missing(f"{point.name} has no limits: give it some and read it again, or enter why it is acceptable.",
                   "measuring.explain", where)


def _verdict(reading: Reading) -> str:
    return {"fail": "outside its band"}.get(reading.verdict.value, reading.said[1])


def _proof_words(finding: Finding) -> str:
    why = why_not_proved(finding.status, finding.disposition)
    return f"{finding.called}: {why[:1].lower()}{why[1:]}" if why else f"{finding.called}: record what its check showed."


def _here(order: RepairOrder) -> Here:
    return (("order_id", order.id),)
