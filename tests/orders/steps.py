"""What people do to an order, one small thing each, right or wrong; and what an amp that goes out as repaired must have."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import sqlalchemy as sa
from werkzeug.datastructures import FileStorage

from app.db import Base, session
from app.documents import queries as papered
from app.documents import service as documents
from app.documents.make import make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import RuleBroken
from app.findings import queries as findings_queries
from app.findings.rules.life import Disposition
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.handover import queries as handing
from app.handover.rules import OldPartsFate
from app.handover.service import come_back as come_back_service
from app.handover.service import going_out as going_out_service
from app.intake.rules import Looked
from app.intake.service import checking_in as checking_in_service
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service.checking_in import ComplaintFacts
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.measuring.rules import Phase, Quantity
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.spec import PointFacts
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts import queries as parts
from app.parts import service as buying
from app.photos import service as photos
from app.photos.prepare import Prepared, prepare
from app.quote import queries as quotes
from app.quote.rules.words import LineGroup, asked
from app.quote.service import answers as answers_service
from app.quote.service import declined as declined_service
from app.quote.service import issuing as issuing_service
from app.quote.service import lines as lines_service
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.way import way_back
from app.reassembly.service import counts as counts_service
from app.reassembly.service import proofs as proofs_service
from app.reassembly.service import steps as steps_service
from app.records.rules import ProtectionClass
from app.records.spec import AmpFacts
from app.removals import queries as removed
from app.removals.rules import Went
from app.removals.service import odd as odd_service
from app.removals.service import pieces as pieces_service
from app.removals.service import record as record_service
from app.removals.spec import RemovalFacts
from app.safety import queries as safety
from app.safety.service import testing as testing_service
from app.shop.queries import the_shop
from tests.discharge import make as emptied
from tests.findings import make as bench
from tests.handover import make as hand
from tests.intake import make as counter
from tests.measuring import make as meters
from tests.parts import make as store
from tests.people import BY
from tests.quote import make as papers
from tests.reassembly.test_way_back import how_tested
from tests.removals import make as off
from tests.safety import make as proving

Step = Callable[[RepairOrder, datetime], None]
CLASS_I = ProtectionClass.I
LONG = date(2099, 1, 1)
PICTURE: list[Prepared] = []  # prepared once: every walk photographs the same amp


def equip() -> None:
    """Meters in date for as long as anybody walks, and a profile in force."""
    meters.instrument("M2", due_on=LONG)
    proving.tester("E1", due_on=LONG)
    proving.profile()
    PICTURE[:] = [prepare(FileStorage(io.BytesIO(counter.jpeg()), "photo.jpg"))]


def tool(name: str) -> Instrument:
    return session().scalars(sa.select(Instrument).where(Instrument.name == name)).one()


def said(order: RepairOrder, now: datetime) -> None:
    checking_in_service.complain(order, ComplaintFacts("it hums, then goes quiet"), by=BY, now=now)


def marked(order: RepairOrder, now: datetime) -> None:
    records_service.change_amp(order.amp, AmpFacts(order.amp.maker, order.amp.model, "none found", "230 V 50 Hz", CLASS_I), by=BY,
                               now=now)


def photographed(order: RepairOrder, now: datetime) -> None:
    for view in ("front", "serial and mains marking"):
        photos.add(order, PICTURE[0], place=view, by=BY, now=now)


def counted(order: RepairOrder, now: datetime) -> None:
    sheets_service.count(order, {"footswitch": 1}, by=BY, now=now)


def looked_at(order: RepairOrder, now: datetime) -> None:
    danger_service.look(order, Looked(), by=BY, now=now)


def terms_signed(order: RepairOrder, now: datetime) -> None:
    counter.sign(order, by=BY, now=now)


def receipted(order: RepairOrder, now: datetime) -> None:
    counter.receipt(order, by=BY, now=now)


def discharged(order: RepairOrder, now: datetime) -> None:
    emptied.discharged(order, now=now)


def found_a_hazard(order: RepairOrder, now: datetime) -> None:
    findings_service.record_finding(order, bench.facts(), by=BY, now=now)


def decided(order: RepairOrder, now: datetime) -> None:
    for one in findings_queries.findings_of(order):
        if not one.status.is_ended:
            outcome_service.decide(one, Disposition.REPLACE_LIKE, words="47u 500 V", by=BY, now=now)


def took_off(order: RepairOrder, now: datetime) -> None:
    mark = f"P{len(removed.of_order(order)) + 1}"
    record_service.record_removal(order, mark, RemovalFacts(
        name=f"pot {mark}", kind=off.Kind.CONTROL, place="front panel", side=off.Side.OUTSIDE, bag=f"bag {mark}",
        stack=("knob", "nut", "chassis", "body"), stays_on_loom=True), by=BY, now=now)


def quoted(order: RepairOrder, now: datetime) -> None:
    """A line for every hazard that has none, then the revision."""
    for one in quotes.pressing_findings_not_quoted(order) or ([] if quotes.lines(order.id) else [None]):
        lines_service.add(order, papers.draft(finding_id=one.id if one else None, group=LineGroup.SAFETY), by=BY, now=now)
    session().flush()
    issuing_service.issue(order, papers.terms(), by=BY, now=now)


def _answered(order: RepairOrder, now: datetime, agreed: bool) -> None:
    quote = quotes.current(order)
    if quote is None:
        raise RuleBroken("There is nothing to answer.")
    decisions = {line.id: agreed for line in quote.lines if asked(line.group)}
    answer = papers.answer(quote, decisions=decisions, agreed_at=now)
    answers_service.authorise(order, quote, answer, by=BY, now=now)


def agreed(order: RepairOrder, now: datetime) -> None:
    _answered(order, now, agreed=True)


def needed(order: RepairOrder, now: datetime) -> None:
    for line in quotes.agreed_lines(order):
        if not any(part.line_root_id == line.line_root_id for part in parts.parts_of(order)):
            buying.need(order, store.need(), line.line_root_id, by=BY, now=now)


def _each_part(order: RepairOrder, state: str) -> list[object]:
    return [part for part in parts.parts_of(order) if part.state.value == state]


def ordered(order: RepairOrder, now: datetime) -> None:
    for part in _each_part(order, "needed"):
        buying.order_part(order, part, store.bought(), by=BY, now=now)  # type: ignore[arg-type]


def received(order: RepairOrder, now: datetime) -> None:
    for part in _each_part(order, "ordered"):
        buying.receive(order, part, store.arrival(), by=BY, now=now)  # type: ignore[arg-type]


def fitted(order: RepairOrder, now: datetime) -> None:
    for part in _each_part(order, "received"):
        buying.fit(order, part, "C14", by=BY, now=now)  # type: ignore[arg-type]


def acted(order: RepairOrder, now: datetime) -> None:
    for one in findings_queries.findings_of(order):
        if one.status.value == "decided":
            outcome_service.act_on(one, words="done", by=BY, now=now)


def put_back(order: RepairOrder, now: datetime) -> None:
    """All of the way back that can be gone."""
    for _ in range(60):
        way = way_back(order)
        ready = way.ready(now)
        if not ready:
            return
        step = ready[0].id
        if way.kind(step) == "measured":
            wants_least = step.startswith(("ISO", "IR"))
            proofs_service.measure(order, step, typed=">200M" if wants_least else "0.1", instrument=tool("E1"),
                                   **how_tested(order, way.origins[step][0]), by=BY, now=now)
        elif way.kind(step) == "counted":
            figures = {one.key: one.expected for one in due_at(order, way, step)}
            ends = ends_due(way, step)
            if not counts_service.count_closure(order, step, counted=figures, ends=ends, looked=True, by=BY, now=now).closed:
                return
        else:
            steps_service.do_step(order, step, by=BY, now=now)
        session().flush()


def read(order: RepairOrder, now: datetime) -> None:
    _read(order, now, "440")


def _read(order: RepairOrder, now: datetime, typed: str) -> None:
    point = next(iter(measuring.points_of(order)), None)
    if point is None:
        wanted = PointFacts("HT", Quantity.VOLT_DC, 438.0, 421.0, 455.0, "computed")
        point = points_service.add_point(order, wanted, by=BY, now=now)
        session().flush()
    readings_service.take(order, readings_service.Taken.at(point, typed, tool("M2"), Phase.AS_LEFT, "at idle", 241.0), by=BY,
                          now=now)
    proving.off(order, now=now)


def proved(order: RepairOrder, now: datetime) -> None:
    for one in findings_queries.findings_of(order):
        if one.status.value == "done":
            outcome_service.prove(one, result="0.2 mA at 450 V", instrument="M2", by=BY, now=now)


def soaked(order: RepairOrder, now: datetime) -> None:
    proving.soaked(order, now=now - timedelta(minutes=125))


def passed(order: RepairOrder, now: datetime) -> None:
    proving.completed(order, tool("E1"), now=now)


def checked_off(order: RepairOrder, now: datetime) -> None:
    hand.check_off(order, now=now)


def old_parts(order: RepairOrder, now: datetime) -> None:
    going_out_service.settle_old_parts(order, OldPartsFate.GIVEN_BACK, "three capacitors", by=BY, now=now)


def settled(order: RepairOrder, now: datetime) -> None:
    going_out_service.settle(order, 0, 0, hand.Method.NOTHING, because="as a courtesy", by=BY, now=now)


def shown(order: RepairOrder, now: datetime) -> None:
    going_out_service.show_working(order, True, "", by=BY, now=now)


def signed(order: RepairOrder, now: datetime) -> None:
    hand.sign(order, now=now)


def reported(order: RepairOrder, now: datetime) -> None:
    documents.issue(order, make(order, paper(order, Kind.REPORT), now=now, as_page=True), by=BY, now=now)


def release(order: RepairOrder, now: datetime) -> None:
    going_out_service.release(order, by=BY, now=now)


def come_back(order: RepairOrder, now: datetime) -> RepairOrder:
    made = come_back_service.come_back(order, "it hums again", None, the_shop(), by=BY, now=now)
    session().flush()
    return made


PROPER: dict[Stage, tuple[Step, ...]] = {
    Stage.INTAKE: (said, marked, photographed, counted, looked_at, terms_signed, receipted),
    Stage.TEARDOWN: (discharged, found_a_hazard, decided, took_off),
    Stage.QUOTE: (decided, quoted, agreed),
    Stage.PARTS: (needed, ordered, received),
    Stage.REASSEMBLY: (fitted, acted, put_back),
    Stage.SAFETY_TEST: (read, proved, passed, soaked),
    Stage.RETURN: (checked_off, old_parts, settled, shown, signed, reported),
}


# What goes wrong in a shop, or is tried.

def read_badly(order: RepairOrder, now: datetime) -> None:
    _read(order, now, "300")


def failed(order: RepairOrder, now: datetime) -> None:
    proving.completed(order, tool("E1"), now=now, bond="0.9")


def void(order: RepairOrder, now: datetime) -> None:
    test = safety.last_completed(order)
    if test is None:
        raise RuleBroken("There is no test to void.")
    testing_service.void_test(test, reason="the wrong lead", by=BY, now=now)


def soaked_too_briefly(order: RepairOrder, now: datetime) -> None:
    proving.soaked(order, minutes=20, now=now - timedelta(minutes=20))


def soaked_with_the_symptom(order: RepairOrder, now: datetime) -> None:
    proving.soaked(order, symptom=True, now=now - timedelta(minutes=125))


def declined_all(order: RepairOrder, now: datetime) -> None:
    _answered(order, now, agreed=False)


def acknowledged(order: RepairOrder, now: datetime) -> None:
    for line in quotes.to_acknowledge(order):
        declined_service.acknowledge(order, line, papers.paper(), by=BY, now=now)


def powered(order: RepairOrder, now: datetime) -> None:
    power.power_up_by_word(order, "hum listened to", reason="as found", by=BY, now=now)
    power.power_off(order, by=BY, now=now)


def withdrew(order: RepairOrder, now: datetime) -> None:
    for one in findings_queries.findings_of(order)[:1]:
        outcome_service.withdraw(one, reason="it was a reflection", by=BY, now=now)


def reopened(order: RepairOrder, now: datetime) -> None:
    for one in findings_queries.findings_of(order)[:1]:
        outcome_service.reopen(one, reason="it shows again", by=BY, now=now)


def dropped(order: RepairOrder, now: datetime) -> None:
    for part in parts.parts_of(order)[:1]:
        buying.drop(order, part, "none to be had: the old one is kept", by=BY, now=now)


def issued_a_nut(order: RepairOrder, now: datetime) -> None:
    pieces_service.enter_pieces(order, "nut", Went.ISSUED, 1, by=BY, now=now)


def scrapped_a_nut(order: RepairOrder, now: datetime) -> None:
    pieces_service.enter_pieces(order, "nut", Went.SCRAPPED, 1, by=BY, now=now)


def found_inside(order: RepairOrder, now: datetime) -> None:
    odd_service.found(order, "toothed washer", place="under the board", by=BY, now=now)


def lost_one(order: RepairOrder, now: datetime) -> None:
    odd_service.lost(order, "nut", by=BY, now=now)


def written_unrepaired(order: RepairOrder, now: datetime) -> None:
    hand.leaves_unrepaired(order, now=now)


def warned(order: RepairOrder, now: datetime) -> None:
    hand.acknowledge(order, now=now)


def labelled(order: RepairOrder, now: datetime) -> None:
    if handing.unrepaired(order.id) is None:
        raise RuleBroken("It is not written yet.")
    documents.issue(order, make(order, paper(order, Kind.UNREPAIRED), now=now, as_page=True), by=BY, now=now)


def tied_on(order: RepairOrder, now: datetime) -> None:
    if papered.newest(order.id, Kind.UNREPAIRED) is None:
        raise RuleBroken("There is no label yet.")
    hand.tie(order, now=now)


def written_to(order: RepairOrder, now: datetime) -> None:
    hand.notice(order, now.date(), now=now)


MISCHIEF: tuple[Step, ...] = (
    read_badly, failed, void, soaked_too_briefly, soaked_with_the_symptom, declined_all, acknowledged, powered, withdrew, reopened,
    dropped, issued_a_nut, scrapped_a_nut, found_inside, lost_one, written_unrepaired, warned, labelled, tied_on, written_to)


def lacks(order_id: int) -> list[str]:
    """What an amp that goes out as repaired would lack, by the design's table of gates; from the stored records alone."""
    order = rows("repair_order", id=order_id)[0]
    return [*_counter(order_id, order), *_bench(order_id), *_quote(order_id), *_proofs(order_id), *_door(order_id)]


def rows(table: str, **where: object) -> list[dict[str, object]]:
    """Records of a table in the order in which they were made."""
    found = Base.metadata.tables[table]
    wanted = sa.select(found).where(*(found.c[name] == value for name, value in where.items())).order_by(found.c.id)
    return [dict(one) for one in session().execute(wanted).mappings()]


def _counter(order_id: int, order: dict[str, object]) -> list[str]:
    customer, amp = rows("customer", id=order["depositor_id"])[0], rows("amp", id=order["amp_id"])[0]
    holds = {
        "reach": customer["phone"] or customer["email"],
        "amp": all(amp[name] for name in ("maker", "model", "serial", "mains_marking")),
        "class": amp["protection_class"].value in ("I", "II"),
        "complaint": rows("complaint", order_id=order_id),
        "photo": [one for one in rows("photo", order_id=order_id) if one["struck_at"] is None],
        "accessories": rows("accessory_count", order_id=order_id),
        "look": rows("first_look", order_id=order_id),
        "terms": rows("terms_acceptance", order_id=order_id),
        "receipt": [one for one in rows("issued_document", order_id=order_id) if one["kind"].value == "receipt"],  # type: ignore[attr-defined]
    }
    return [name for name, there in holds.items() if not there]


def _bench(order_id: int) -> list[str]:
    findings = [one for one in rows("finding", order_id=order_id) if one["withdrawn_at"] is None]
    off_ = [one for one in rows("removal", order_id=order_id) if one["struck_at"] is None]
    lost = [one for one in rows("lost_piece", order_id=order_id) if one["found_at"] is None and one["countersigned_at"] is None]
    found = [one for one in rows("found_object", order_id=order_id) if one["explained_at"] is None]
    return [name for name, wrong in {
        "discharged": not [one for one in rows("discharge_record", order_id=order_id) if _all_below(one)],
        "risk": [one for one in findings if one["severity"] is None],
        "decision": [one for one in findings if one["disposition"] is None],
        "act": [one for one in findings if one["severity"] and one["acted_at"] is None and one["declined_at"] is None],
        "proof": [one for one in findings if one["proved_at"] is None and one["declined_at"] is None],
        "removal": [one for one in off_ if one["ended_at"] is None],
        "lost": lost, "found": found, "nuts": _nuts_open(order_id),
    }.items() if wrong]


def _all_below(record: dict[str, Any]) -> bool:
    """Every capacitor of its list was read, and lies with the meter's uncertainty below the limit; the meter was proved."""
    listed = {one["id"] for one in rows("supply_capacitor", supply_list_id=record["supply_list_id"])}
    below = {one["capacitor_id"] for one in rows("discharge_reading", record_id=record["id"])
             if one["relation"] != ">" and abs(one["value"]) + one["uncertainty"] < record["limit_volts"]}
    return bool(listed) and listed == below and record["proved_before"] and record["proved_after"]


def _nuts_open(order_id: int) -> int:
    """Nuts entered by hand: what was issued less what went. (The stacks' own nuts end with their removals.)"""
    entered = [one for one in rows("piece_entry", order_id=order_id) if one["struck_at"] is None and not one["at_end"]]
    return sum(int(str(one["count"])) * (1 if one["went"] is Went.ISSUED else -1) for one in entered)


def _quote(order_id: int) -> list[str]:
    sent, answers = rows("quote", order_id=order_id), rows("quote_authorisation", order_id=order_id)
    if not sent or not answers or answers[-1]["quote_id"] != sent[-1]["id"]:
        return ["answer"]
    ceilings = [one["ceiling_minor"] for one in rows("authority", order_id=order_id)
                if one["withdrawn_at"] is None and one["covers"].value != "diagnosis"]
    said = rows("quote_decision", authorisation_id=answers[-1]["id"])
    lines = {one["id"]: one for one in rows("quote_issued_line", quote_id=sent[-1]["id"])}
    line_roots = {lines[one["issued_line_id"]]["line_root_id"] for one in said if one["agreed"]}
    called_for = [one for one in rows("part", order_id=order_id) if one["line_root_id"] in line_roots]
    wanting = [one for one in called_for if one["state"].value in ("needed", "ordered")]
    uncovered = not ceilings or ceilings[-1] < answers[-1]["total_minor"]
    return [name for name, wrong in {"agreed": not line_roots, "ceiling": uncovered, "parts": wanting}.items() if wrong]


def _proofs(order_id: int) -> list[str]:
    done = [one for one in rows("safety_test", order_id=order_id) if one["completed_at"] is not None]
    soaks = [one for one in rows("soak_run", order_id=order_id) if one["ended_at"] is not None]
    points = [one for one in rows("point", order_id=order_id) if one["withdrawn_at"] is None]
    last = done[-1] if done else None
    wrong = {
        "test": last is None or last["result"].value != "pass" or last["voided_at"] is not None,
        "chassis": last is not None and _opened_since(order_id, last["last_opening_id"]),
        "soak": not soaks or soaks[-1]["symptom_shown"] or
                soaks[-1]["ended_at"] - soaks[-1]["started_at"] < timedelta(minutes=int(str(soaks[-1]["needed_minutes"]))),
        "readings": not points or [one for one in points if not _read_well(int(str(one["id"])))],
    }
    return [name for name, is_wrong in wrong.items() if is_wrong]


def _read_well(point_id: int) -> bool:
    left = [one for one in rows("reading", point_id=point_id) if one["phase"] is Phase.AS_LEFT]
    return bool(left) and (left[-1]["verdict"].value == "pass" or bool(left[-1]["explanation"]))


def _opened_since(order_id: int, last: object) -> bool:
    """Whether hands were in it after the test began: something came off or went on, was fitted, mended or discharged."""
    return any(int(str(one["id"])) > int(str(last or 0)) for one in rows("chassis_opening", order_id=order_id))


def _door(order_id: int) -> list[str]:
    back = {one["accessory_id"] for one in rows("accessory_return", order_id=order_id)}
    reports = [one for one in rows("issued_document", order_id=order_id) if one["kind"].value == "report"]
    return [name for name, there in {
        "accessories back": all(one["id"] in back for one in rows("accessory", order_id=order_id)),
        "old parts": rows("old_parts", order_id=order_id), "sums": rows("settlement", order_id=order_id),
        "shown": rows("demonstration", order_id=order_id), "signature": rows("return_signature", order_id=order_id),
        "report": reports}.items() if not there]


