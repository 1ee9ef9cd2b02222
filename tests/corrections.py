"""What a shop corrects, strikes, takes back and counts again: each act that a repair without a slip has no need of, once.

With the demo's stories and the furnished amps this is everything that can be done in a shop; `tests/journal` holds it there.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import sqlalchemy as sa
from flask import current_app

from app.access import challenges, clock_jumps, guessing, passkeys
from app.access import queries as people
from app.access import service as access
from app.access.challenges import For
from app.access.models import Device, Person, SignIn
from app.access.rules import Role
from app.access.site import Site
from app.bench.sums.sections import SUMS
from app.bench.sums.service import keep_sum
from app.bench.sums.service import use as use_sum
from app.bench.sums.targets import offered
from app.bench.sums.work import work_out
from app.boards import service as boards
from app.boards.models import Board
from app.boards.rules import BoardKind, Fate, PartKind, Reason
from app.circuits.rules.blocks import Given
from app.circuits.rules.blocks import Kind as CircuitBlock
from app.circuits.service import blocks as sheet_blocks
from app.circuits.service import points as node_points
from app.circuits.service import sheets as amp_sheets
from app.circuits.spec import PrintedFacts, SheetFacts
from app.contact import smtp
from app.contact.rules import How, Security
from app.contact.service import log, outbox
from app.contact.service import settings as mail
from app.contact.spec import ContactFacts, ServerFacts, TemplateFacts
from app.db import session, transaction
from app.documents import service as documents
from app.documents.make import make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.drawings import service as drawings
from app.drawings.prepare import take
from app.drawings.rules import DrawingKind
from app.electrics.sound.made import as_wav
from app.errors import RuleBroken
from app.exchange import csv_import
from app.findings import usual
from app.findings.models.special import Round
from app.findings.rules.life import Area, Disposition
from app.findings.rules.signs import Sign
from app.findings.rules.waste import Material
from app.findings.service import catalogue, outcome, special, waste
from app.findings.service import findings as findings_service
from app.handover.service import come_back as come_back_service
from app.hours.service import calls, kinds, timers
from app.hours.service import tasks as hours_tasks
from app.incidents import service as incidents
from app.incidents.rules import Harm
from app.incidents.rules import Told as ToldOf
from app.intake.come_back_rules import Judgement, Payer, Verdict
from app.intake.queries import sheets as counter_sheets
from app.intake.rules import Danger, Looked, Zone
from app.intake.service import checking_in, danger, merging, sheets, signing
from app.intake.service import come_back as judging
from app.intake.service import records as counter_records
from app.intake.service import terms as counter_terms
from app.intake.terms import for_jurisdiction
from app.journal.service import Actor
from app.kept import service as kept
from app.kept.queries import uses_of
from app.kept.rules import Purpose
from app.kernel.clock_watch import Jump
from app.leftovers import service as leftovers
from app.leftovers.models import Leftover, Told
from app.measuring.models import Instrument
from app.measuring.rules import Kind as MeterKind
from app.measuring.rules import Phase as Reading
from app.measuring.rules import Quantity, Statement
from app.measuring.service import calibrations, instruments, points, readings
from app.measuring.tolerance import Calibrated, ErrorFound, Settled
from app.money import service as money
from app.money.rules import EntryKind
from app.orders import authority, chassis, power
from app.orders import service as orders
from app.orders.models import Channel, RepairOrder
from app.orders.stages import End, Stage
from app.parts import service as parts
from app.parts.rules import RatedAgain, Settle
from app.personal import locations
from app.personal import service as personal
from app.personal.models import KeptPaper
from app.photos import pins, removal
from app.photos import service as photos
from app.photos.models import Phase, Photo
from app.photos.prepare import prepare
from app.powerup.rules.mains import Asked
from app.powerup.rules.trials import TrialKind
from app.quote.rules.words import LineGroup
from app.quote.service import ceiling, lines
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.way import way_back
from app.reassembly.service import counts, powered, proofs, steps
from app.records.models import Customer
from app.removals import queries as removals
from app.removals.rules import Explained, Went
from app.removals.rules import Fate as Becomes
from app.removals.rules import Kind as Removed
from app.removals.service import odd, pieces, record
from app.removals.service import outcome as removals_outcome
from app.safety import queries as safety
from app.safety.rules import StepKind
from app.safety.service import profiles, testing
from app.shop import service as shop
from app.shop.queries import the_shop
from app.sound import service as sound
from app.sound.rules import Setting, SoundKind
from tests import factories
from tests.authenticator import Authenticator
from tests.circuits import make as circuits
from tests.discharge import make as emptied
from tests.documents import make as story
from tests.drawings import make as plans
from tests.factories import NOW
from tests.findings import make as found
from tests.handover import make as hand
from tests.hours import make as hour
from tests.intake import make as counter
from tests.measuring import make as meters
from tests.money import make as taken
from tests.parts import make as store
from tests.people import BY, PASSWORD
from tests.personal import make as forgotten
from tests.photos.make import photo_bytes
from tests.powerup import make as powering
from tests.quote import make as quotes
from tests.reassembly.test_way_back import how_tested
from tests.reassembly.way_back_cases import front_panel, octal_base, transformer
from tests.removals import make as off
from tests.safety import make as proving

WHEN = {"by": BY, "now": NOW}
LATER = {"by": BY, "now": NOW + timedelta(hours=3)}


def correct() -> None:
    """Call inside the application of a shop that has people, outside a transaction."""
    for act in (the_house, the_house_changes, the_hours,
                the_counter, the_counter_puts_right,
                a_quote, a_strip_down, its_photos, its_drawings, its_circuit, its_boards, what_is_lost, a_way_back,
                a_way_back_under_power, what_the_plan_asks,
                an_open_amp_changes_hands, readings_again, a_test_again, a_newer_edition, a_first_power_up, a_mail_goes_out,
                somebody_was_hurt,
                names_of_an_older_version, the_money):
        with transaction():
            act()
    people_who_want_to_be_forgotten()


def people_who_want_to_be_forgotten() -> None:
    """Their record is given to them, they are erased, a paper's time is over, and a photo's place is taken out."""
    with transaction():
        who, order = forgotten.with_traces()
        located = story.picture(order, "rear", data=photo_bytes(gps=True))
        session().flush()
        customer_id, order_id, located_id = who.id, order.id, located.id
    for kind in (Kind.RECEIPT, Kind.REPORT):
        order = session().get_one(RepairOrder, order_id)
        made = make(order, paper(order, kind), now=NOW, as_page=True)
        with transaction() as current:
            documents.issue(current.get_one(RepairOrder, order_id), made, **WHEN)
    with transaction() as current:
        forgotten.ended(current.get_one(RepairOrder, order_id))
        who = current.get_one(Customer, customer_id)
        personal.hand_out(who, **WHEN)
        outbox.queue(who, None, outbox.Draft(("osric@thornbury.example",), "News", "It is ready."), **WHEN)  # withdrawn with it
        session().flush()
        personal.erase(who, personal.Wish("they asked for it", ("Nailmaker", "Osric")), **WHEN)
        kept = current.scalars(sa.select(KeptPaper)).one()
        personal.end_keeping(kept, by=BY, now=NOW + timedelta(days=3700))
        photo = current.get_one(Photo, located_id)
        photos.replace_original(photo, locations.clean([photo])[0].sha256, **WHEN)
    removal.work_off(NOW)


def someone(name: str) -> tuple[Person, Actor]:
    person = access.add_person(name, Role.TECHNICIAN, PASSWORD, **WHEN)
    session().flush()
    return person, Actor(person.id, person.name, "a browser")


def the_house() -> None:
    """People come and go, a tablet is enrolled and lost."""
    person, by = someone("Halvard")
    owner = next(one for one in people.people() if one.role is Role.OWNER)
    access.enrol(access.make_enrol_code(owner, **WHEN), "bench tablet", agent="a tablet", now=NOW)
    device = session().scalars(sa.select(Device)).first()
    assert device is not None
    access.set_pin(person, access.new_pin("739154"), **WHEN)
    place, who = access.place_of(device, ""), guessing.Who(person.id, guessing.plain(person.name))
    assert not access.count_pin(person, place, fits=False, now=NOW) and access.count_pin(person, place, fits=True, now=NOW)
    assert not access.count_password(person, who, place, fits=False, now=NOW)
    clock_jumps.look_at_start(NOW)
    clock_jumps.note(Jump(NOW, LATER["now"]), now=NOW)
    session().flush()
    clock_jumps.confirm(**WHEN)
    opened, _ = access.open_sign_in(person, device, agent="a tablet", by_password=True, now=NOW)
    access.end_sign_in(opened, by=access.actor(person, device, "a tablet"), now=NOW)
    access.open_sign_in(person, device, agent="a tablet", by_password=False, now=NOW)
    access.set_password(person, access.new_password("eleven brass teapots", person.name), **WHEN)
    assert access.password_code_trouble(person, "ABCD EFGH JKLM", now=NOW, place="a tablet")
    access.use_password_code(person, access.make_password_code(person, **WHEN), "nine pewter ladles", agent="a tablet", now=NOW)
    access.make_badge(person, **WHEN)
    assert access.whose_badge(access.make_badge(person, **WHEN), device) is person
    access.withdraw_badge(person, **WHEN)
    here, key = Site("localhost", "http://localhost"), Authenticator()
    made = key.make(passkeys.options_to_add(person, here, page="a page", now=NOW))
    added = passkeys.add_passkey(person, "a phone", made, challenges.take(For.ADDING, "a page", NOW), here, **WHEN)
    session().flush()
    weighed = passkeys.weigh(key.sign(passkeys.options_to_sign_in(here, page="a page", now=NOW)),
                             challenges.take(For.SIGNING_IN, "a page", NOW), here)
    assert isinstance(weighed, passkeys.Signed) and passkeys.use_passkey(weighed, place="a phone", now=NOW) is person
    assert passkeys.offered(here) == "" and list(passkeys.of(person)) == [added]
    passkeys.end_passkey(added, **WHEN)
    assert not session().scalars(sa.select(SignIn).where(SignIn.person_id == person.id, SignIn.ended_at.is_(None))).all()
    access.change_person(person, role=Role.COUNTER, active=False, **WHEN)
    access.revoke(device, **WHEN)


def the_counter_puts_right() -> None:
    """Records merged, an order void, a come-back judged twice, terms of the shop's own and the shipped ones again."""
    who, double = factories.customer("Ada Lowe"), factories.customer("A. Lowe", phone="0491 570 110")
    what, plate = factories.amp(serial="CC-1"), factories.amp(serial="CC 1")
    session().flush()
    counter_records.note_also(who, "ada@lowe.example", **WHEN)
    orders.void(factories.order(customer=double, amp=plate), "checked in twice", **WHEN)
    merging.merge_amps(what, plate, "one plate", **WHEN)
    merging.merge_customers(who, double, "one voice", **WHEN)
    first = factories.order(customer=who, amp=what)
    first.ended_as, first.ended_at = End.REPAIRED, NOW
    session().flush()
    again = come_back_service.come_back(first, "the same hum", None, the_shop(), **WHEN)
    session().flush()
    judging.judge(again, Judgement(Verdict.UNRELATED, Payer.CUSTOMER, True, "a new valve is broken"), **WHEN)
    sheets.offer(again, sheets.Offer(8500, True, 9000), **WHEN)
    judging.judge(again, Judgement(Verdict.OUR_WORK, Payer.SHOP, True, "the socket was left loose"), **WHEN)
    shipped = for_jurisdiction(the_shop().jurisdiction)
    own = counter_terms.Edition((("Care", "We look after it."),), NOW.date(), "the Act, by the owner")
    counter_terms.write_edition(shipped, own, today=NOW.date(), **WHEN)
    counter_terms.use_shipped(shipped, today=NOW.date(), **WHEN)


def the_house_changes() -> None:
    """Settings, the usual findings and points, a profile of its own, instruments, lists from before."""
    shop.change(the_shop(), {"licence": "EW 11111"}, **WHEN)
    entry = usual.catalogue()[0]
    catalogue.keep_usual(replace(entry, short="as we say it"), **WHEN)
    points.ensure_usual_points()
    points.withdraw_usual_point(points.add_usual_point(points.PointFacts("Grid of V1", Quantity.VOLT_DC), **WHEN), **WHEN)
    profiles.ensure_profiles(now=NOW)
    own = next((one for one in safety.profiles() if one.is_own), None)
    own = own or profiles.copy_profile(safety.profiles()[-1], name="Our own", **WHEN)
    session().flush()
    step = next(one for one in own.steps if one.quantity and one.upper)
    profiles.change_limit(step, profiles.LimitFacts(step.lower, step.upper, "cold", "the owner's own rule"), **WHEN)
    tool = meters.instrument("M9")
    session().flush()
    instruments.withdraw_accuracy(tool.accuracies[0], **WHEN)
    facts = instruments.InstrumentFacts(tool.name, tool.kind, calibrated_on=tool.calibrated_on, due_on=tool.due_on, note="repaired")
    instruments.change_instrument(tool, facts, **WHEN)
    an_instrument_found_wrong()
    csv_import.take_in(csv_import.plan("list.csv", b"name,phone\nOrla Finch,555 0177\n", "customers"), **WHEN)
    worked = work_out(SUMS["bias"], {one.name: one.default for one in SUMS["bias"].fields} | {"mine": "yes"})
    keep_sum(worked, order_id=None, note="for the wall", **WHEN)
    a_calculation_is_used_and_withdrawn()


def a_calculation_is_used_and_withdrawn() -> None:
    """A point and the discharge take a figure each; then the calculation turns out wrong. The demo's orders use one for a part."""
    order = factories.order(amp=factories.amp(serial="C-9"), customer=factories.customer("Arne Holt"))
    points.add_point(order, points.PointFacts("HT at C1", Quantity.VOLT_DC), **WHEN)
    session().flush()
    made = {}
    for key, changed in (("discharge", {"from_v": "470"}), ("reservoir", {"secondary_vrms": "330"})):
        given = {one.name: one.default for one in SUMS[key].fields} | changed
        made[key] = keep_sum(work_out(SUMS[key], given | {"mine": "yes"}), order_id=order.id, note="", **WHEN)
    session().flush()
    for target in offered(order, parts_too=True):
        key, name = {"V": ("reservoir", "mean_v"), "J": ("discharge", "joule"), "s": ("discharge", "seconds")}[target.unit]
        use_sum(order, made[key], next(one for one in made[key].figures if one.key == name), target, **WHEN)
    kept.withdraw(made["discharge"], "the capacitors are 220 µF each", **WHEN)


def a_rating_is_looked_at_again(order: RepairOrder) -> None:
    """A part is rated by a calculation that is withdrawn: its ripple is kept with a reason, its volts wait."""
    given = {one.name: one.default for one in SUMS["reservoir"].fields} | {"secondary_vrms": "330", "mine": "yes"}
    made, part = keep_sum(work_out(SUMS["reservoir"], given), order_id=order.id, note="", **WHEN), store.part(order, place="C3")
    session().flush()
    for purpose, name in ((Purpose.VOLTS, "highest_v"), (Purpose.RIPPLE, "ripple_vpp")):
        target = next(one for one in offered(order, parts_too=True) if one.part is part and one.purpose is purpose)
        use_sum(order, made, next(one for one in made.figures if one.key == name), target, **WHEN)
    kept.withdraw(made, "the winding is 300 V", **WHEN)
    session().flush()
    ripple = next(one for one in uses_of(order.id) if one.part_id == part.id and one.purpose is Purpose.RIPPLE)
    parts.rate_again(order, part, ripple, RatedAgain(Settle.KEEP, None, "measured at the can"), **WHEN)
    parts.send_back(order, part, store.arrival(rating=store.Rating(volts=350.0)), "marked 350 V", **WHEN)
    session().flush()
    parts.need(order, part.need, None, again_of=part, **WHEN)


def the_counter() -> None:
    """Somebody else may approve cost; a note was wrong; a danger is dealt with; a notice came back."""
    order = factories.order(amp=factories.amp(serial="C-1"), customer=factories.customer("Nils Aldous"))
    owner = factories.customer("Marit Aldous")
    checking_in.name_people(order, checking_in.People(order.depositor, owner, owner), **WHEN)
    sheets.strike_note(sheets.note_condition(order, Zone.REAR, "two feet missing", **WHEN), "they are in the bag", **WHEN)
    sheets.offer(order, sheets.Offer(8500, True, 12000), **WHEN)
    session().flush()
    counter.sign(order)
    offered = counter_sheets.agreement(order.id)
    assert offered is not None
    entry = signing.agree_diagnosis(order, offered, Channel.PHONE, "555 0188", **WHEN)
    session().flush()
    authority.withdraw(entry, "it was for another amp", **WHEN)
    danger.look(order, Looked(), **WHEN)
    danger.look(order, Looked((Danger.BURNT,)), **LATER)
    danger.lift(order, "the burnt lead is cut off", **LATER)
    checking_in.complain(order, checking_in.ComplaintFacts("it hums"), **WHEN)
    checking_in.complain(order, checking_in.ComplaintFacts("it hums and crackles"), **LATER)
    emptied.discharged(order)
    hand.leaves_unrepaired(order)
    hand_notice = hand.notice(order, NOW.date())
    session().flush()
    hand.uncollected_service.strike_notice(hand_notice, "it came back", **LATER)


def the_money() -> None:
    """A limit is raised alone; a deposit, storage, a payment that was another's, a credit note, what is given back and given up."""
    order = quotes.agreed_order()
    ceiling.raise_ceiling(order, ceiling.Raised(90_000, "more hours", Channel.PHONE, quotes.LATER, "555 0188"), by=BY,
                          now=quotes.LATER)
    order.stage = Stage.RETURN
    session().flush()
    taken.enter(order, 5000, EntryKind.DEPOSIT)
    bill = taken.bill(order)
    money.bill_storage(order, 2000, "four days at 5.00", "the signed terms", **LATER)
    session().flush()
    money.strike(taken.enter(order, 1000), "it was for another amp", **LATER)
    session().flush()
    taken.enter(order, 15_000)
    taken.enter(order, 295, EntryKind.WRITE_OFF, note="too little to ask for again")
    taken.credit(bill, 4000)
    taken.enter(order, 2000, EntryKind.REFUND, note="as credited")


def a_quote() -> None:
    """A line is changed, one withdrawn, one for safety declined in writing, a part named anew and one dropped."""
    order = quotes.order_at()
    hazard = found.finding(order)
    line = quotes.line(order, group=LineGroup.SAFETY, finding_id=hazard.id)
    line = lines.change(order, line, quotes.draft(group=LineGroup.SAFETY, finding_id=hazard.id, what="Renew all three"), **WHEN)
    kept = quotes.line(order, group=LineGroup.SAFETY, what="Renew the lead", parts="", parts_minor=0, condition=None)
    lines.withdraw(quotes.line(order), "twice on the quote", order=order, **WHEN)
    session().flush()
    quote = quotes.issue(order)
    quotes.authorise(order, declined={line.id})
    for declined in quotes.queries.to_acknowledge(order):
        quotes.acknowledge(order, declined)
    part = store.part(order, kept.line_root_id, place="P77")
    parts.change(order, part, store.need(place="board 1"), kept.line_root_id, **WHEN)
    short = store.arrival(rating=store.Rating(volts=350.0))
    parts.send_back(order, store.part(order, kept.line_root_id), short, "marked 350 V", **WHEN)
    parts.drop(order, store.part(order, kept.line_root_id), "none to be had", **WHEN)
    a_rating_is_looked_at_again(order)
    assert quote.lines and hazard.declined_at
    order.stage = Stage.PARTS
    session().flush()
    orders.move_back(order, Stage.QUOTE, reason="the price changed", **WHEN)
    power.power_up_by_word(factories.order(amp=factories.amp(serial="P-1")), "hum listened to", reason="as found", **WHEN)


def a_strip_down() -> None:
    """Findings said better, declined, reopened; readings and wires struck; waste that goes and waste that was none."""
    order = found.order_at()
    leaks = found.finding(order, area=Area.BOARDS, signs=Sign.BOARD_LEAKS.value, place="board 1")
    boards.record_board(order, boards.BoardFacts("board 1", BoardKind.TURRET), **WHEN)
    bake = special.start_bake_out(leaks, **WHEN)
    session().flush()
    assert bake.board_id is not None
    findings_service.change_finding(leaks, found.facts(area=Area.BOARDS, signs=Sign.BOARD_LEAKS.value, place="board 2"), **LATER)
    assert bake.board_id is None
    boards.record_board(order, boards.BoardFacts("board 2", BoardKind.TURRET), **LATER)
    session().flush()
    assert bake.board_id is not None
    reading = special.measure_leakage(leaks, round=Round.BEFORE, between="1 and 2", source_v=250, meter_v=2, meter_ohm=10e6,
                                      instrument="M2", **WHEN)
    wire = special.list_wire(leaks, colour="green", run="heaters", from_end="V1 pin 4", to_end="V2 pin 4", weeps=True, **WHEN)
    session().flush()
    special.strike_leakage(leaks, reading, reason="a finger on the probe", **WHEN)
    special.strike_wire(leaks, wire, **WHEN)
    outcome.decide(leaks, Disposition.REPAIR, words="dry it", **WHEN)
    outcome.decline(leaks, paper="letter of 2 March", **WHEN)
    outcome.reopen(leaks, reason="they changed their mind", **WHEN)
    tin = {"material": Material.LEAD, "presumed": True, "quantity": 0.2, "unit": "kg", "container": "tin 3"}
    waste.strike_waste(waste.record_waste(order, **tin, **WHEN), reason="it was tinned wire", **WHEN)  # type: ignore[arg-type]
    waste.transfer_waste(waste.record_waste(order, **tin, **WHEN), to="the depot", paper="W 17", **LATER)  # type: ignore[arg-type]
    store.part(order, place="lid")
    first = off.removal(order, "S1", name="screw", stack=(), kind=Removed.PART, fixed_to="lid")
    off.removal(order, "L1", name="lid", stack=(), kind=Removed.PART)
    session().flush()
    assert first.held_by is not None
    second = record.same_again(first, order, record.suggest_mark(first, order), **WHEN)
    record.change_removal(second, order, replace(record.facts_of(second), orientation="slot up"), **WHEN)
    removals_outcome.decide_fate(second, order, Becomes.SCRAP, reason="bent", **WHEN)
    removals_outcome.end_removal(second, order, **WHEN)
    removals_outcome.reopen_removal(second, order, reason="it will do", **WHEN)


def its_photos() -> None:
    order = found.order_at()
    seen = found.finding(order)
    first = story.picture(order, "front")
    second = story.picture(order, "rear", data=counter.jpeg("#224466"))
    session().flush()
    photos.move(second, earlier=True, **WHEN)
    photos.describe(first, place="front", caption="the grille", phase=Phase.AS_FOUND, **WHEN)
    pin = pins.drop(first, "finding", seen.id, "1", x=0.25, y=0.5, **WHEN)
    session().flush()
    pins.drop(first, "finding", seen.id, "1", x=0.5, y=0.5, **WHEN)
    pins.lift(pin, **WHEN)
    photos.strike(second, reason="of another amp", **WHEN)


def its_drawings() -> None:
    """A picture and a PDF of one model; words changed, a pin withdrawn, a drawing withdrawn."""
    facts = drawings.DrawingFacts("Tarnholt", "Meridian 30", "Preamp", DrawingKind.SCHEMATIC, "drawn here")
    kept = drawings.add_drawing(facts, take(plans.upload(plans.picture(), "preamp.png")), **WHEN)
    gone = drawings.add_drawing(replace(facts, title="Layout"), take(plans.upload(plans.pdf(), "layout.pdf")), **WHEN)
    session().flush()
    drawings.change_drawing(kept, replace(facts, title="Preamp, sheet 1"), **WHEN)
    logo = documents.set_logo(prepare(plans.upload(plans.picture(), "mark.png")), **WHEN)
    documents.withdraw_logo(logo, **LATER)
    first = drawings.add_pin(kept, "0.4 V here on the owner's amp", 0.25, 0.5, **WHEN)
    drawings.add_pin(kept, "R7 is 120k in most", 0.75, 0.5, **WHEN)
    drawings.withdraw_pin(first, **LATER)
    drawings.withdraw_drawing(gone, reason="of the later edition", **LATER)


def its_circuit() -> None:
    """A sheet with everything that can be said of it: a block renamed, one withdrawn, printed volts, points; kept for the model
    and begun from there."""
    order = found.order_at()
    sheet = circuits.entered(order)
    session().flush()
    amp_sheets.change(sheet, order, SheetFacts(mains_v=242.0, whole=True, meter_ohm=1e7), **LATER)
    node_points.lay_out(order, sheet, **WHEN)
    session().flush()
    stage = next(one for one in sheet.shown if one.name == "V1b")
    sheet_blocks.change_block(stage, order, "V1 second", {"cathode_ohm": Given(1500.0, reference="R9")}, **LATER)
    spare = sheet_blocks.add_block(sheet, order, CircuitBlock.WINDING, "spare winding", {"fed_by": Given(None, "mains")}, **WHEN)
    sheet_blocks.withdraw_block(spare, order, reason="a second look: it is the bias winding", **LATER)
    first = amp_sheets.add_printed(sheet, order, PrintedFacts("HT1", 405.0, 10.0, "sheet 2"), **WHEN)
    amp_sheets.add_printed(sheet, order, PrintedFacts("V1a anode", 210.0, 20.0, "sheet 2"), **WHEN)
    amp_sheets.withdraw_printed(first, order, **LATER)
    session().flush()
    amp_sheets.keep_for_model(sheet, order, **LATER)
    session().flush()
    again = factories.order(amp=factories.amp(order.amp.maker, order.amp.model, serial="M30-0881"))
    amp_sheets.begin(again, **LATER)


def its_boards() -> None:
    order = found.order_at()
    board: Board = boards.record_board(order, boards.BoardFacts("preamp", BoardKind.TURRET), **WHEN)
    session().flush()
    boards.change_board(board, order, boards.BoardFacts("preamplifier", BoardKind.TAG, None, "M2", 0.8), **WHEN)
    facts = boards.PositionFacts("R1", PartKind.RESISTOR, 100e3, 0.1, 104e3, None, Fate.KEEP, Reason.ORIGINAL)
    position = boards.record_position(board, order, facts, **WHEN)
    session().flush()
    boards.change_position(position, order, replace(facts, measured_out=131e3, fate=Fate.REPLACE, reason=Reason.DRIFTED), **WHEN)


def what_is_lost() -> None:
    """One piece found again, one searched for by two; a thing explained; an entry struck."""
    order = found.order_at(Stage.REASSEMBLY)
    (_, first), (_, second) = someone("Ragna"), someone("Sindre")
    again, gone = odd.lost(order, "nut", **WHEN), odd.lost(order, "washer", **WHEN)
    thing = odd.found(order, "toothed washer", place="under the board", **WHEN)
    session().flush()
    odd.find_again(again, order, where="in the turn-up", **WHEN)
    odd.searched(gone, order, how="magnet and mirror", by=first, now=NOW)
    odd.countersign(gone, order, by=second, now=NOW)
    odd.explain(thing, order, Explained.OTHER, words="of the speaker that was in it before", **WHEN)
    pieces.enter_pieces(order, "nut", Went.SCRAPPED, 1, **WHEN)
    pieces.strike_entry(pieces.enter_pieces(order, "nut", Went.ISSUED, 1, **WHEN), order, reason="it was for another amp", **WHEN)


def a_way_back() -> None:
    """A transformer and an octal base go back; a step out of turn; one taken back."""
    instrument = meters.instrument("E7", stated=story.SAFETY_METER, kind=MeterKind.SAFETY_TESTER)
    for ledger in (transformer(), octal_base()):
        order = factories.order(amp=factories.amp(serial=f"W-{ledger[0].id}"))
        off.enter(order, ledger)
        session().flush()
        _all_back(order, instrument)
    steps.undo_step(order, next(iter(way_back(order).records)), reason="it sits askew", **WHEN)


def _all_back(order: RepairOrder, instrument: Instrument) -> None:
    forced = False
    while way_back(order).left:
        way = way_back(order)
        if not forced:
            forced = _out_of_turn(order)
        step = way_back(order).ready(NOW)[0].id
        what = way.origins[step][0]
        if what in ("PE", "ISO", "IR"):
            proofs.measure(order, step, typed="0.1" if what == "PE" else ">200M", instrument=instrument,
                           **how_tested(order, what), **WHEN)
        elif what == "V":
            counts.count_base(order, step, ends=13, counted=counted(order, step), looked=True, **WHEN)
        elif what.startswith("CT"):
            counts.count_closure(order, step, counted=counted(order, step), ends=ends_due(way, step), looked=True, **WHEN)
        else:
            steps.do_steps(order, [step], **WHEN)
        session().flush()
    assert forced


def _out_of_turn(order: RepairOrder) -> bool:
    """A step that may be done too early with a reason, if there is one now."""
    way = way_back(order)
    ready = {one.id for one in way.ready(NOW)}
    for step in way.left:
        if step.id not in ready and way.kind(step.id) == "done":
            try:
                steps.do_step(order, step.id, forced_reason="the iron is hot", **WHEN)
            except RuleBroken:
                continue
            return True
    return False


def counted(order: RepairOrder, step: str) -> dict[tuple[str, str], int]:
    """The figures that close a count."""
    return {one.key: one.expected for one in due_at(order, way_back(order), step)}


def output_stage(order: RepairOrder) -> None:
    """Two output valves in wired bases."""
    for number in (4, 5):
        off.removal(order, f"V{number}", kind=Removed.OUTPUT_VALVE, name=f"valve V{number}", stack=(), fixed_to=f"XV{number}",
                    bag="tray 1", stays_on_loom=False)
    for number in (4, 5):
        off.removal(order, f"XV{number}", kind=Removed.VALVE_BASE, name=f"base XV{number}", stack=(), side=off.Side.INSIDE,
                    fasteners={"screw": 2, "nut": 2}, bag=f"X{number}", stays_on_loom=False)


def _ready_done(order: RepairOrder) -> None:
    """What is ready and done by a tap or a count, as long as there is something."""
    while found := [one.id for one in way_back(order).ready(NOW) if way_back(order).kind(one.id) in ("done", "counted")]:
        if way_back(order).kind(found[0]) == "counted":
            counts.count_closure(order, found[0], counted=counted(order, found[0]), ends=ends_due(way_back(order), found[0]),
                                 looked=True, **WHEN)
        else:
            steps.do_step(order, found[0], **WHEN)
        session().flush()


def a_way_back_under_power() -> None:
    """Two output valves wait for their bias: read in stages with the mains on, dead again; a valve comes off again."""
    order = factories.order(amp=factories.amp(serial="W-2"))
    output_stage(order)
    meter = meters.instrument("M6", stated=tuple(
        Statement(quantity, 1000.0, 0.5, 2, 0.001) for quantity in (Quantity.VOLT_AC, Quantity.VOLT_DC, Quantity.AMP_DC)))
    session().flush()
    _ready_done(order)
    power.power_up_by_word(order, "no valves", reason="covers off, as planned", **WHEN)
    read = {"instrument": meter, "basis": "drawing", **WHEN}
    powered.read_stage(order, "LAMP", point="HT winding", typed="330", lower=300.0, upper=350.0, **read)
    powered.finish_stage(order, "LAMP", **WHEN)
    for number in (4, 5):
        powered.read_stage(order, "BIAS", point=f"V{number}", typed="-42", lower=-60.0, upper=-35.0, **read)
    powered.read_stage(order, "HT", point="reservoir", typed="440", lower=420.0, upper=470.0, **read)
    powered.finish_stage(order, "HT", **WHEN)
    power.power_off(order, **LATER)
    emptied.discharged(order, now=LATER["now"])
    session().flush()
    for number in (4, 5):
        steps.do_step(order, f"V{number}.fit", **LATER)
    evening = {"by": BY, "now": NOW + timedelta(hours=6)}
    power.power_up_by_word(order, "its idle", reason="covers off, as planned", **evening)
    for number in (4, 5):
        powered.read_stage(order, "OUT", point=f"V{number}", typed="35m", lower=0.02, upper=0.05,
                           **{**read, **evening})
    power.power_off(order, **evening)
    emptied.discharged(order, now=evening["now"] + timedelta(minutes=9))
    powered.prove_dead(order, "DEAD", by=BY, now=evening["now"] + timedelta(minutes=10))
    session().flush()
    base = next(one for one in removals.of_order(order) if one.mark == "XV4")
    steps.reopen(order, base, reason="a pin is bent", **LATER)


def what_the_plan_asks() -> None:
    """In which base a valve sits is answered; a jack that reads what lies across it may stand, for a reason."""
    order = factories.order(amp=factories.amp(serial="W-3"))
    off.removal(order, "A", kind=Removed.VALVE, name="12AX7", stack=(), stays_on_loom=False)
    off.removal(order, "B", kind=Removed.VALVE_BASE, name="nine-pin base", stack=(), side=off.Side.INSIDE)
    session().flush()
    steps.answer(order, "A", "on", "B", **WHEN)
    order = factories.order(amp=factories.amp(serial="W-4"))
    off.enter(order, front_panel(("J1",), (), ("J1",)))
    session().flush()
    _ready_done(order)
    proofs.measure(order, "ISO", typed="10k", instrument=meters.instrument("E6", stated=story.SAFETY_METER), **WHEN)
    proofs.stand_by(order, "ISO", words="R12, 10 kΩ to chassis by the drawing", **WHEN)


def an_open_amp_changes_hands() -> None:
    order = found.order_at(Stage.REASSEMBLY)
    off.removal(order, "P9", name="shield", stack=(), fasteners={"clip": 2}, kind=Removed.PART)
    session().flush()
    person, second = someone("Eldrid")
    to = {"to_id": person.id, "to_name": person.name, "counted": {"clip": 1}, "note": "one clip is in the tray"}
    counts.drop_handover(counts.change_technician(order, **to, **WHEN), order, **WHEN)
    counts.take_over(counts.change_technician(order, **to, **WHEN), order, counted={"clip": 1}, proof="PIN", by=second, now=NOW)


def an_instrument_found_wrong() -> None:
    """A reading is put in doubt by one range, and settled; a second range of the same certificate is added."""
    order, meter = factories.order(amp=factories.amp(serial="K-1")), meters.instrument("M5")
    point = meters.point(order)
    session().flush()
    readings.take(order, readings.Taken.at(point, "449", meter, Reading.AS_FOUND), **WHEN)
    session().flush()
    error = ErrorFound(Quantity.VOLT_DC, 0, 600, 2.0, 0)
    facts = calibrations.Certified(NOW.date(), "Tarn Metrology", Calibrated.OUTSIDE, good_on=meter.calibrated_on, error=error)
    made = calibrations.record_calibration(meter, facts, take(plans.upload(plans.pdf(), "certificate.pdf")), **WHEN)
    session().flush()
    calibrations.add_error(made, ErrorFound(Quantity.OHM, 0, 100, 0, 0.5), **WHEN)
    calibrations.settle_doubt(made.doubts[0], Settled.HARMLESS, words="it was read as found only", **WHEN)
    tone = np.sin(2 * np.pi * 400 * np.arange(48000) / 48000) * 0.2
    heard = sound.prepare(as_wav(tone, 48000), Setting(SoundKind.TONE, tone_hz=400), known_v=4.0)
    session().flush()
    sound.strike_recording(sound.add_recording(order, heard, Reading.AS_FOUND, "8 ohm load", **WHEN), reason="wrong input", **WHEN)


def readings_again() -> None:
    order = found.order_at()
    points.ensure_usual_points()
    session().flush()
    points.lay_out(order, **WHEN)
    point = meters.point(order, "Screens")
    session().flush()
    points.change_point(point, points.PointFacts("Screens, V4", Quantity.VOLT_DC, 430.0, 410.0, 450.0, "its own parts"), **WHEN)
    meter = meters.instrument("M8")
    low = readings.take(order, readings.Taken.at(point, "300", meter), **WHEN)
    session().flush()
    readings.explain(low, words="the load was on", **WHEN)
    readings.correct(low, readings.Taken.at(point, "431", meter), reason="misread", **WHEN)
    points.withdraw_point(meters.point(order, "Hum"), reason="no such point here", **WHEN)


def a_test_again() -> None:
    """An earth that was read badly, done again; the amp is opened, so that the test is void; the next is made void by hand."""
    order = proving.order()
    if safety.profile_in_force() is None:
        proving.profile()
    tester = proving.tester("E8")
    test = proving.started(order)
    for step in test.steps:
        if step.kind is StepKind.BOND:
            for typed, reason in (("0.9", ""), ("0.12", "the clip was loose")):
                testing.measure(step, typed=typed, instrument=tester, level=step.least_level, reason=reason, **WHEN)
            break
        testing.answer(step, seen=True, words="T2A 250 V", **WHEN)
    chassis.opened(order.id, "a lead came off", **LATER)
    again = proving.started(order, now=LATER["now"])
    assert test.voided_at is not None
    testing.void_test(again, reason="the wrong lead", **LATER)


def a_newer_edition() -> None:
    """The limits in force were replaced: kept for a reason, then what replaced them is adopted, and a part that is not there."""
    earlier = proving.profile("vde_0701_0702")
    profiles.keep_profile(earlier, reason="our insurer names it", **WHEN)
    profiles.adopt(earlier, **WHEN)
    session().flush()
    order, tester = proving.order(), proving.tester("E9")
    for step in proving.started(order).steps:
        if step.absent:
            testing.none_there(step, **WHEN)
            break
        if step.kind.is_seen:
            testing.answer(step, seen=True, words="T2A 250 V", **WHEN)
        else:
            testing.measure(step, typed=proving.GOOD[step.kind], instrument=tester, level=step.least_level, **WHEN)
    proving.off(order)


def a_mail_goes_out() -> None:
    """Every way in which a message may end; no server is talked to."""
    order = factories.order(amp=factories.amp(serial="E-1"))
    who = order.depositor
    entry = log.record_contact(who, order, ContactFacts(How.LETTER, "the address", "the notice"), **WHEN)
    log.strike_contact(entry, "another customer", **LATER)
    where = ServerFacts("mail.shop.example", 587, Security.STARTTLS, "bench@shop.example", "shop", "The shop")
    server = mail.set_server(where, **WHEN)
    session().flush()
    mail.set_password(server, current_app.config["DATA"], "not kept in a record", **WHEN)
    mail.keep_test(server, smtp.Seen(True, "250 Ok", 20_000_000), **WHEN)
    mail.add_usual_templates(**WHEN)
    made = mail.add_template(TemplateFacts("Another", "Repair {number}", "Hello {name}"), **WHEN)
    session().flush()
    mail.change_template(made, TemplateFacts("Another", "Repair {number}: news", "Hello {name}"), **LATER)
    mail.retire_template(made, **LATER)
    ends = (smtp.End.ACCEPTED, smtp.End.LATER, smtp.End.NEVER, smtp.End.LOST)
    for number, end in enumerate(ends):
        message = outbox.queue(who, order, outbox.Draft((f"n{number}@shop.example",), "News", "It is ready."), **WHEN)
        session().flush()
        (to,) = message.recipients
        assert outbox.claim(to.id, NOW) is not None
        outbox.begin(to.id, NOW)
        outbox.settle(to.id, smtp.Outcome(end, "250 Ok" if end is smtp.End.ACCEPTED else "451 Later"), NOW)
        if end is smtp.End.NEVER:
            outbox.again(to, **LATER)
            outbox.withdraw(to, "written by hand instead", **LATER)


def somebody_was_hurt() -> None:
    """Written down, told, reported, found to need no report, and put right; an amp that was on by word."""
    order = factories.order(amp=factories.amp(serial="H-1"))
    power.was_on(order, "the hum was shown", **WHEN)
    power.powered_again(order, **WHEN)
    power.power_off(order, **WHEN)
    happened = incidents.Happened("the technician", Harm.SLIGHT, "a shock from the reservoir", "bench 1", NOW, NOW, "first aid")
    made = incidents.record_incident(happened, incidents.About(order=order), **WHEN)
    for kind in ToldOf:
        said = incidents.Said(kind, "what the book says", NOW, whom="the regulator", proof="no. 4471")
        incidents.add_entry(made, said, **LATER)


def names_of_an_older_version() -> None:
    """What a migration could not match: one is matched, one set aside."""
    order = factories.order(amp=factories.amp(serial="O-1"))
    first, lid = off.removal(order, "A1", name="bar"), off.removal(order, "A2", name="cap")
    session().flush()
    made = [Leftover(order_id=order.id, record_table="removal", record_id=first.id, title=f"A1 {told}", told=told, text="cap",
                     why="Several records have that name.", found_at=NOW) for told in (Told.UNDER, Told.FIXED)]
    session().add_all(made)
    session().flush()
    leftovers.match(made[0], order, f"removal {lid.id}", **WHEN)
    leftovers.set_aside(made[1], reason="it names nothing", **WHEN)


def the_hours() -> None:
    """Timers switched, stopped, forgotten and corrected; tasks of every kind; calls; a kind of the shop's own."""
    (_, one), (_, other) = someone("Yrsa"), someone("Njal")
    order = hour.agreed()
    item = hour.item(order)
    first = timers.start(order, hour.STRIP_DOWN, by=one, now=hour.at(0), allowed_by="the owner")
    session().flush()
    timers.start(order, item, seen=first.id, by=one, now=hour.at(1))
    alone = timers.start_alone(order, item, by=other, now=hour.at(1))
    session().flush()
    running = hour.queries.running_of(one.person_id or 0)
    assert running is not None
    timers.stop(one.person_id or 0, seen=running.id, by=one, now=hour.at(2))
    timers.stop_alone(alone, by=other, now=hour.at(3))
    timers.correct(order, first, hour.Span(hour.at(0), hour.at(0.5)), "forgot to stop it", by=one, now=hour.at(4))
    timers.enter(order, item, hour.Span(hour.at(2), hour.at(3)), "no tablet at hand", by=one, now=hour.at(4))
    own, idle = (hours_tasks.add(order, what, hour.plan(), by=one, now=hour.at(4)) for what in ("Wax the coil", "Repaint"))
    session().flush()
    hours_tasks.change(order, hour.WorkKey(hour.Role.OWN, own.id), hour.plan(kind="wiring"), by=one, now=hour.at(4))
    hours_tasks.withdraw(order, idle, "not wanted", by=one, now=hour.at(4))
    hours_tasks.finish(order, item, by=one, now=hour.at(5))
    session().flush()
    hours_tasks.reopen(order, item, by=one, now=hour.at(5))
    calls.call(order, calls.Call(hour.Called.NOT_REACHED), by=one, now=hour.at(5))
    calls.call(order, calls.Call(hour.Called.MORE, "555 0199", 90_000), by=one, now=hour.at(5))
    made = kinds.add("Re-coning", ["speaker"], **WHEN)
    session().flush()
    kinds.change(made, ["speaker", "cabinet"], in_use=False, **LATER)
    session().flush()
    timers.start(order, item, by=one, now=NOW + timedelta(days=2))


def a_first_power_up() -> None:
    """A run with a bias fault is aborted, resumed and stopped; another is finished; the owner answers for a third."""
    safety_profile = proving.queries.profile_in_force()
    order = powering.order()
    run = powering.begun(order)
    bench = powering.Bench(run)
    bench.to(3)
    powering.entries_service.leave(run, 2, "plug", why="no sheet gives it", by=BY, now=bench.later())
    for number in range(3, 7):
        bench.step(number)
    powering.entries_service.look(run, 7, "cold", seen=True, by=BY, now=bench.later())
    bench.bias(7, "36m", "92m")
    facts = powering.runs_service.finding_facts("V6 draws 92 mA", "bias", "V6")
    powering.runs_service.abort(run, 7, facts, off=True, by=BY, now=bench.later())
    powering.decided(run)
    powering.runs_service.resume(run, hypothesis="pin 5 was dry", hands_in=False, by=BY, now=bench.later())
    for number in range(7, 12):
        bench.step(number)
    asked = Asked("1x 12AX7, 2x 6L6GC", 6.3, 230.0, 50.0, no_load_a=0.1)
    powering.bias_service.keep_mains(run, asked, no_load_source="measured bare", by=BY, now=bench.later())
    powering.entries_service.tried(run, TrialKind.COLD_START, trials=3, shown=0, by=BY, now=bench.later())
    powering.runs_service.switch_off(run, by=BY, now=bench.later())
    powering.runs_service.stop(run, reason="it is collected unrepaired", by=BY, now=bench.later())
    powering.runs_service.waive(order, reason="returned as it came, nothing changed inside", by=BY, now=bench.later())
    powering.whole(powering.begun(powering.order()))
    if safety_profile is not None and not safety_profile.in_force:
        proving.profiles_service.put_in_force(safety_profile, by=BY, now=bench.later())
