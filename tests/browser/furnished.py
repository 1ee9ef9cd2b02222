"""A shop with something on every page: amps at the door, on the bench, on test, one that nobody fetches, one that went home."""

from __future__ import annotations

from datetime import date, timedelta

import sqlalchemy as sa

from app import clock
from app.boards import service as boards_service
from app.boards.rules import BoardKind, Fate, PartKind, Reason
from app.boards.spec import BoardFacts, PositionFacts
from app.circuits.service import sheets as amp_sheets
from app.circuits.spec import PrintedFacts
from app.db import session, transaction
from app.documents import service as documents
from app.documents.make import make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.findings.models.special import Round
from app.findings.rules.life import Area, Disposition, Origin
from app.findings.rules.signs import Sign
from app.findings.rules.waste import Material
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.findings.service import special as special_service
from app.findings.service import waste as waste_service
from app.findings.spec import FindingFacts
from app.handover.rules import Fate as Disposed
from app.handover.service import going_out as going_out_service
from app.handover.service import uncollected as uncollected_service
from app.handover.service import unrepaired as unrepaired_service
from app.incidents import service as incidents_service
from app.incidents.rules import Harm
from app.incidents.service import About, Happened
from app.intake.rules import Danger, Looked, Zone
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.leftovers.models import Leftover, Told
from app.measuring.rules import Phase, Quantity
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.spec import PointFacts
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts import service as parts
from app.quote.rules.words import LineGroup
from app.reassembly.queries.way import way_back
from app.reassembly.service import steps as steps_service
from app.records.models import Amp, Customer
from app.records.rules import ProtectionClass
from app.records.spec import AmpFacts, CustomerFacts
from app.removals.rules import Fate as Discard
from app.removals.rules import Kind as Removed
from app.removals.rules import OldPart, Went, WireEnd
from app.removals.service import odd as odd_service
from app.removals.service import outcome as removals_outcome_service
from app.removals.service import pieces as pieces_service
from app.safety import queries as safety
from app.safety.service import profiles as profiles_service
from app.safety.service import soaking as soaking_service
from app.safety.service import testing as testing_service
from tests import factories
from tests.circuits import make as circuits
from tests.discharge import make as emptied
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make as hand
from tests.intake import make as counter
from tests.parts import make as store
from tests.people import BY
from tests.quote import make as quotes
from tests.removals import make as off
from tests.safety import make as proving


def furnish() -> None:
    """Call inside the application, outside a transaction."""
    with transaction():
        door = story.repaired(story.quoted(story.taken_in()))
    for kind in (Kind.RECEIPT, Kind.REPORT):
        issue(door.id, kind)
    with transaction():
        bench = on_the_bench()
    with transaction():
        waiting(bench)
        on_test()
        not_fetched()
        gone = went_home()
        known_longer()
    issue(gone, Kind.UNREPAIRED)
    with transaction():
        incidents_service.record_incident(
            Happened("Wren Adler", Harm.SERIOUS, "a shock from the strings", "the hall", NOW, NOW),
            About(session().get(RepairOrder, gone)),
            by=BY, now=NOW)
        hand.tie(session().get_one(RepairOrder, gone))
        unrepaired_service.give_back_unrepaired(session().get_one(RepairOrder, gone), by=BY, now=NOW)


def known_longer() -> None:
    """Everybody and every amp has a history of their own."""
    for customer in session().scalars(sa.select(Customer)):
        records_service.change_customer(customer, CustomerFacts(customer.name, customer.phone, "post@home.example"), by=BY, now=NOW)
    for amp in session().scalars(sa.select(Amp)):
        facts = AmpFacts(amp.maker, amp.model, amp.serial, amp.mains_marking or "240 V 50 Hz", amp.protection_class, "2 × EL84")
        records_service.change_amp(amp, facts, by=BY, now=NOW)


def issue(order_id: int, kind: Kind) -> None:
    order = session().get_one(RepairOrder, order_id)
    made = make(order, paper(order, kind), now=NOW, as_page=True)
    with transaction():
        documents.issue(session().get_one(RepairOrder, order_id), made, by=BY, now=NOW)


def on_the_bench() -> RepairOrder:
    """At reassembly: half its front panel is off, a board is being read, things were found and lost."""
    amp = factories.amp(maker="Brennholm", model="Stag 18", serial="S18-0042", protection_class=ProtectionClass.I)
    order = factories.order(amp=amp, customer=factories.customer("Isolde Marsh"))
    counter.finish(order)
    sheets_service.note_condition(order, Zone.REAR, "two feet missing", by=BY, now=NOW)
    order.stage = Stage.REASSEMBLY
    emptied.discharged(order)
    findings(order)
    shown = story.picture(order, "tag board", caption="scorched")
    board = boards_service.record_board(order, BoardFacts("preamp", BoardKind.TURRET, shown.id, "M2", 1.0), by=BY, now=NOW)
    session().flush()
    drifted = PositionFacts("R1", PartKind.RESISTOR, 100e3, 0.1, 104e3, None, Fate.KEEP, Reason.ORIGINAL)
    boards_service.record_position(board, order, drifted, by=BY, now=NOW)
    its_circuit(order)
    taken_off(order)
    return order


def its_circuit(order: RepairOrder) -> None:
    """The amp's own sheet with volts that a drawing prints."""
    sheet = circuits.entered(order, circuits.called_otherwise(circuits.PUSH_PULL, "mains", "inlet"))  # somebody's word, in no pack
    amp_sheets.add_printed(sheet, order, PrintedFacts("V1a anode", 205.0, 20.0, "sheet 2"), by=BY, now=NOW)
    amp_sheets.keep_for_model(sheet, order, by=BY, now=NOW)
    session().flush()


def findings(order: RepairOrder) -> None:
    """One of each: acted on, drying, proved, withdrawn, open."""
    facts = {"area": Area.VALVE_BASES, "origin": Origin.WEAR, "check_words": "leakage at 500 V"}
    track = findings_service.record_finding(order, FindingFacts(observation="arc track between two pins", severity=2,
                                                                          probability="d",
                                                          hazard="shock", **facts), by=BY, now=NOW)
    board = findings_service.record_finding(order, FindingFacts(observation="board leaks", area=Area.BOARDS, severity=2,
                                                                          probability="e",
                                                          hazard="shock", signs=Sign.BOARD_LEAKS.value), by=BY, now=NOW)
    wires = findings_service.record_finding(order, FindingFacts(observation="wire weeps", area=Area.WIRING, severity=0),
                                            by=BY, now=NOW)
    clean = findings_service.record_finding(order, FindingFacts(observation="pins are dull", severity=0, **facts),
                                            by=BY, now=NOW)
    wrong = findings_service.record_finding(order, FindingFacts(observation="taken for a crack", **facts), by=BY, now=NOW)
    session().flush()
    for one in (track, clean):
        outcome_service.decide(one, Disposition.REPAIR, words="dry and clean", by=BY, now=NOW)
        outcome_service.act_on(one, words="done", by=BY, now=NOW)
    outcome_service.prove(clean, result="bright", instrument="M2", by=BY, now=NOW)
    outcome_service.decide(board, Disposition.REPAIR, words="dry it", by=BY, now=NOW)
    outcome_service.withdraw(wrong, reason="a hair, not a crack", by=BY, now=NOW)
    for _ in range(2):
        special_service.measure_leakage(board, round=Round.BEFORE, between="eyelets 4 and 5", source_v=250, meter_v=2,
                                        meter_ohm=10e6,
                                 instrument="M2", by=BY, now=NOW)
    special_service.list_wire(wires, colour="green", run="heaters", from_end="V1 pin 4", to_end="V2 pin 4", weeps=True, by=BY,
                              now=NOW)
    ended = special_service.start_bake_out(board, by=BY, now=NOW)
    session().flush()
    special_service.end_bake_out(ended, by=BY, now=NOW + timedelta(hours=9))
    special_service.start_bake_out(board, by=BY, now=NOW)
    waste_service.record_waste(order, material=Material.LEAD, presumed=True, quantity=0.2, unit="kg", container="tin 3", by=BY,
                               now=NOW)


def taken_off(order: RepairOrder) -> None:
    """A panel, a pot on it, the earth, a lead, a jack that is back on; pieces issued, found and lost."""
    panel = off.removal(order, "F1", kind=Removed.PANEL, name="front panel", stack=(), fasteners={"screw": 4}, unit="front")
    pot = off.removal(order, "P1", unit="front")
    off.removal(order, "E1", kind=Removed.PROTECTIVE_EARTH, name="protective earth", stack=(), fasteners={"nut": 1, "washer": 1},
                ends=(WireEnd("1", host="V6"),))
    off.removal(order, "J1", kind=Removed.PART, name="choke", stack=(), fasteners={"screw": 2})
    session().flush()
    gone = off.removal(order, "T1", kind=Removed.PART, name="shield", stack=(), fasteners={"clip": 1})
    wrong = off.removal(order, "X1", kind=Removed.PART, name="nothing", stack=())
    scrap = off.removal(order, "C1", kind=Removed.PART, name="can", stack=(), fasteners={"screw": 1}, fate=Discard.SCRAP,
                        fate_reason="it leaks", old_part=OldPart.SCRAP)
    session().flush()
    assert scrap.ended_at is None
    removals_outcome_service.strike_removal(wrong, order, reason="entered twice", by=BY, now=NOW)
    removals_outcome_service.end_removal(gone, order, by=BY, now=NOW)
    pieces_service.enter_pieces(order, "screw", Went.ISSUED, 1, removal=panel, by=BY, now=NOW)
    odd_service.found(order, "toothed washer", place="under the board", by=BY, now=NOW)
    odd_service.lost(order, "nut", removal=pot, circumstances="rolled off the bench", by=BY, now=NOW)
    session().flush()
    way = way_back(order)
    ready = next((step for step in way.ready(clock.now()) if way.kind(step.id) == "done"), None)
    if ready is not None:
        steps_service.do_step(order, ready.id, by=BY, now=NOW)


def waiting(order: RepairOrder) -> None:
    """Its quote, its parts in every state, readings of every verdict, a test and a soak run that are on."""
    quotes.line(order, group=LineGroup.SAFETY, what="Renew the base")
    quotes.line(order, group=LineGroup.SAFETY, what="Renew the mains lead", parts="", parts_minor=0, condition=None)
    quotes.issue(order)
    quote = quotes.queries.current(order)
    assert quote is not None
    quotes.authorise(order, declined={quote.lines[1].line_id})
    for at, place in enumerate(("V3", "V4", "V5", "V6")):
        part = store.part(order, quote.lines[0].line_root_id, place=place, quantity=1)
        if at > 0:
            parts.order_part(order, part, store.bought(900), by=BY, now=NOW)
        if at > 1:
            parts.receive(order, part, store.arrival(charged_minor=900), by=BY, now=NOW)
        if at > 2:
            parts.fit(order, part, place, by=BY, now=NOW)
    measured(order)
    session().flush()
    session().add(Leftover(order_id=order.id, record_table="removal", record_id=order.id, title="removal F1", told=Told.UNDER,
                           text="the bracket", why="no record has that name", found_at=NOW))
    danger_service.look(order, Looked((Danger.LEAD,)), by=BY, now=NOW)  # seen with the amp on: from here on it may not be energised
    profiles_service.copy_profile(next(one for one in safety.profiles() if not one.in_force), name="Own house rules", by=BY,
                                  now=NOW)


def on_test() -> None:
    """Two whole amps: a test that is half done, and a soak run that is on."""
    testing = proving.order()
    test = testing_service.start_test(testing, testing_service.Setup(3.0, 1.0, conducts=False), by=BY, now=NOW)
    for step in test.steps[:3]:
        if step.kind.is_seen:
            testing_service.answer(step, seen=True, words="as it should be", by=BY, now=NOW)
    soaking = proving.order()
    soaking.amp.maker = "Kestermark" * 12  # a maker's name of 120 letters, without a blank
    proving.earthed(soaking)
    soaking_service.start_soak(soaking, load="8 Ω", attended=True, by=BY, now=NOW)


def measured(order: RepairOrder) -> None:
    """Points passed, failed, in doubt and not read."""
    meter = proving.measuring.instrument("M7")
    for name, typed in (("HT at the reservoir", "440"), ("Screens", "300"), ("Cathode", "")):
        point = proving.measuring.point(order, name)
        session().flush()
        if typed:
            readings_service.take(order, readings_service.Taken.at(point, typed, meter, Phase.AS_LEFT, "at idle", 241.0), by=BY,
                                  now=NOW)
    points_service.add_point(order, PointFacts("Hum", Quantity.VOLT_AC, None, None, None, ""), by=BY, now=NOW)


def not_fetched() -> None:
    """Ready, written to, and the wait is over."""
    today = date.today()
    order = factories.order(amp=factories.amp(maker="Ostrava", model="Kettle 12", serial="none found"))
    quotes.line(order, group=LineGroup.ADVISED, what="New knobs", parts="", parts_minor=0, condition=None)
    emptied.discharged(order)
    hand.leaves_unrepaired(order)
    hand.notice(order, today - timedelta(days=200))
    hand.notice(order, today - timedelta(days=100))
    uncollected_service.dispose(order, Disposed.KEPT, "in the store", "Tove, the Act as published, today",
                     kept_until=today + timedelta(days=6 * 365), by=BY, now=NOW)


def went_home() -> int:
    """Declined: everything ready but its label."""
    order = factories.order(amp=factories.amp(maker="Vantor", model="Lark", serial="L-9"))
    sheets_service.count(order, {"cover": 1}, by=BY, now=NOW)
    emptied.discharged(order)
    hand.leaves_unrepaired(order)
    hand.check_off(order)
    going_out_service.settle_old_parts(order, hand.OldPartsFate.NONE, by=BY, now=NOW)
    hand.acknowledge(order)
    return order.id


__all__ = ["furnish"]
