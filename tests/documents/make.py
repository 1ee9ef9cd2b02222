"""A whole repair, made as the shop makes it, so that every part of every paper has something to say.

Call inside `with transaction():`.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import date, datetime, timedelta

from werkzeug.datastructures import FileStorage

from app.findings.queries import findings_of
from app.findings.rules.life import Area, Disposition, Origin
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.findings.spec import FindingFacts
from app.intake.rules import Looked, Zone
from app.intake.service import checking_in as checking_in_service
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service.checking_in import ComplaintFacts
from app.measuring.models import Instrument
from app.measuring.rules import Kind, Phase, Quantity, Statement
from app.measuring.service import readings as readings_service
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts import service as parts
from app.photos import pins
from app.photos import service as photos
from app.photos.models import Phase as When
from app.photos.models import Photo
from app.photos.prepare import prepare
from app.quote.rules.lines import Hours
from app.quote.rules.words import LineGroup
from app.records.spec import AmpFacts
from app.safety import queries as safety
from app.safety.service import profiles as profiles_service
from app.safety.service import soaking as soaking_service
from app.safety.service import testing as testing_service
from tests import factories
from tests.discharge import make as emptied
from tests.factories import NOW
from tests.intake import make as counter
from tests.measuring import make as bench
from tests.parts import make as store
from tests.people import BY
from tests.quote import make as quotes

SAFETY_METER = (Statement(Quantity.OHM, 20.0, 1.0, 2, 0.001), Statement(Quantity.OHM, 200e6, 3.0, 2, 1e4),
                Statement(Quantity.AMP_AC, 0.02, 2.0, 2, 1e-5), Statement(Quantity.VOLT_AC, 600, 1.0, 3, 0.1))
SOMETHING = counter.jpeg()


def picture(order: RepairOrder, place: str, phase: When = When.AS_FOUND, caption: str = "", data: bytes = SOMETHING,
            now: datetime = NOW) -> Photo:
    made = prepare(FileStorage(io.BytesIO(data), "photo.jpg"))
    return photos.add(order, made, place=place, caption=caption, phase=phase, by=BY, now=now)


def taken_in(shots: Mapping[str, bytes] | None = None) -> RepairOrder:
    """An order past intake, with words and pictures in every field of the receipt."""
    order = factories.order(customer=factories.customer(address="9 Tollgate Row\nHarrowmere"),
                            amp=factories.amp(covering="oxblood cloth", marks="owner’s initials inside the back"))
    checking_in_service.complain(order, ComplaintFacts(
        "it blows its fuse about ten minutes into a set", connected="its own cabinet, 8 Ω", how_long_on="ten minutes",
        smell=True, smoke=False, fuse=True, keep="the oxblood cloth", leave_alone="the loudspeaker"), by=BY, now=NOW)
    records_service.change_amp(order.amp, AmpFacts(
        order.amp.maker, order.amp.model, order.amp.serial, "240 V 50 Hz 120 W", type(order.amp.protection_class)("I"),
        "2 × 6L6GC, 3 × 12AX7", order.amp.covering, order.amp.marks), by=BY, now=NOW)
    sheets_service.note_condition(order, Zone.FRONT, "grille torn at the left, 4 cm", by=BY, now=NOW)
    for place, data in (shots or {"front": SOMETHING, "board": SOMETHING}).items():
        picture(order, place, data=data)
    sheets_service.count(order, {"footswitch": 1, "mains lead": 1}, by=BY, now=NOW)
    danger_service.look(order, Looked(), by=BY, now=NOW)
    counter.sign(order)
    return order


def quoted(order: RepairOrder) -> RepairOrder:
    """Strip-down with a finding, a quote of two lines, one of them declined."""
    order.stage = Stage.QUOTE
    emptied.discharged(order)
    facts = FindingFacts(area=Area.MAINS, observation="Fuse carrier bridged with wire.", severity=3, probability="d",
                           cause="Put in after the fuse had blown often.", origin=Origin.EARLIER_WORK,
                           hazard="A fault could overheat the mains transformer and set the cabinet alight.",
                           check_words="marking photographed, running current read")
    bridged = findings_service.record_finding(order, facts, by=BY, now=NOW)
    outcome_service.decide(bridged, Disposition.REPLACE_LIKE, words="New carrier and the marked fuse.", by=BY, now=NOW)
    loose = findings_service.record_finding(order, FindingFacts(
        area=Area.SPEAKER, observation="Loudspeaker fixings loose.", severity=0, check_words="by hand"), by=BY, now=NOW)
    outcome_service.decide(loose, Disposition.MONITOR, words="You asked us to leave the loudspeaker alone.", by=BY, now=NOW)
    shot = picture(order, "fuse carrier", caption="a strand of wire across it")
    pins.drop(shot, "finding", bridged.id, "1", x=0.5, y=0.5, by=BY, now=NOW)
    quotes.line(order, group=LineGroup.SAFETY, what="New fuse carrier and the marked fuse", finding_id=bridged.id,
                hours=Hours(0.4, 0.5, 1.0), parts="carrier, T 1.6 A fuse", parts_minor=1850)
    quotes.line(order, group=LineGroup.OPTIONAL, what="Clean and lubricate the controls", hours=Hours.one(0.5), parts="",
                parts_minor=0, condition=None)
    quotes.issue(order)
    return order


def repaired(order: RepairOrder, now: datetime = NOW, left: Mapping[str, bytes] | None = None) -> RepairOrder:
    """Agreed, mended, measured and tested; it stands at the return."""
    quote = quotes.queries.current(order)
    assert quote is not None
    quotes.authorise(order, declined={line.line_id for line in quote.lines if line.group is LineGroup.OPTIONAL})
    first, second = findings_of(order)
    line_root_id = quote.lines[0].line_root_id
    need = store.need(what="carrier and T 1.6 A fuse", kind=store.PartKind.FUSE, quantity=1, place="rear panel",
                      rating=store.Rating(), rating_source="")
    part = parts.need(order, need, line_root_id, by=BY, now=NOW)
    parts.order_part(order, part, store.bought(1850), by=BY, now=NOW)
    parts.receive(order, part, store.arrival(rating=store.Rating(), charged_minor=1850), by=BY, now=NOW)
    parts.fit(order, part, "rear panel", by=BY, now=NOW)
    outcome_service.act_on(first, words="New carrier, T 1.6 A fitted.", by=BY, now=NOW)
    outcome_service.prove(first, result="marking photographed, running current 0.71 A", instrument="M2", by=BY, now=NOW)
    outcome_service.prove(second, result="still loose, no worse", by=BY, now=NOW)
    for place, data in (left or {"board": SOMETHING}).items():
        picture(order, place, When.AS_LEFT, data=data)
    read(order)
    order.stage = Stage.SAFETY_TEST
    passes(order)
    order.stage = Stage.RETURN
    return order


def read(order: RepairOrder) -> Instrument:
    """Three points, as found and as left."""
    meter = bench.instrument()
    for name, quantity, expected, lower, upper, found, last in (
            ("HT at the reservoir", Quantity.VOLT_DC, 438.0, 421.0, 455.0, "402", "441"),
            ("Screens", Quantity.VOLT_DC, 431.0, 413.0, 449.0, "398", "433"),
            ("Bias, V6", Quantity.VOLT_DC, -52.1, -54.5, -49.5, "-39.9", "-51.8")):
        point = bench.point(order, name, quantity=quantity, expected=expected, lower=lower, upper=upper)
        for phase, typed in ((Phase.AS_FOUND, found), (Phase.AS_LEFT, last)):
            readings_service.take(order, readings_service.Taken.at(point, typed, meter, phase, "at idle", 241.0), by=BY, now=NOW)
    return meter


def passes(order: RepairOrder) -> None:
    """A safety test that passes under a confirmed profile, and a soak run that is long enough."""
    profiles_service.ensure_profiles(now=NOW)
    profile = next(one for one in safety.profiles() if one.key)
    profiles_service.confirm_profile(profile, edition="2018", edition_date=date(2018, 6, 1), reason="the insurer asks for it",
                                     by=BY, now=NOW)
    if not profile.in_force:
        profiles_service.put_in_force(profile, by=BY, now=NOW)
    tester = bench.instrument("T1", stated=SAFETY_METER, kind=Kind.SAFETY_TESTER, serial="7781")
    setup = testing_service.Setup(lead_metre=3.0, lead_mm2=1.0, mains_v=241.0, conducts=False)
    test = testing_service.start_test(order, setup, by=BY, now=NOW)
    for step in test.steps:
        if step.kind.is_seen:
            testing_service.answer(step, seen=True, words="T 1.6 A, 250 V" if "fuse" in step.kind.value else "", by=BY, now=NOW)
        else:
            good = step.lower * 40 if step.upper is None and step.lower else (step.upper or 0) * 0.3
            testing_service.measure(step, typed=f"{good:.6g}", instrument=tester, level=step.least_level, by=BY,
                                    now=NOW)
    testing_service.complete_test(test, tag="S-0417", by=BY, now=NOW)
    run = soaking_service.start_soak(order, load="8 Ω, a third of full power", attended=True, mains_v=241.0, by=BY, now=NOW)
    soaking_service.end_soak(run, symptom_shown=False, observations="Nothing unusual seen, heard or smelt.", by=BY,
                     now=NOW + timedelta(hours=2, minutes=5))
    power.power_off(order, by=BY, now=NOW + timedelta(hours=2, minutes=5))

