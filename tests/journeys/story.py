"""One amp's way from the counter to the door, told in what three people enter. Each stage is tried before it is finished."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta

from app import clock
from demo_data import pictures
from tests.journeys.hands import SIGNED, Hand, Wristwatch, found, number_in

# Beyond the amp itself nothing here is judged: limits and verdicts have tests of their own against their sources.
COMPLAINT = "it hums from the first minute and then goes quiet"
GOOD = {"Protective earth resistance": "0.12", "Insulation resistance": ">200M", "Protective conductor current": "0.21m",
        "Touch current": "0.08m"}

# One combined tester and a meter of the kind a bench has; from memory.
TOOLS = (
    ("M2", "multimeter", (("V DC", "600", "0.5", "3", "0.1"), ("Ω", "40M", "1", "3", "1"))),
    ("E1", "appliance safety tester",
     (("Ω", "2", "2", "2", "0.01"), ("Ω", "500M", "5", "2", "10k"), ("A AC", "20m", "2", "2", "10u"))),
)


@dataclass
class Shop:
    """Who is at work, the order they work on, and the words of each refusal on the way."""

    counter: Hand
    bench: Hand
    owner: Hand
    watch: Wristwatch
    shots: tuple[bytes, ...] = ()
    order: str = ""
    refusals: dict[str, str] = field(default_factory=dict)

    def at(self, path: str) -> str:
        return f"{self.order}/{path}"


def photos(count: int = 2) -> tuple[bytes, ...]:
    """Drawn photographs of an amp, small enough to be quick."""
    made = []
    for image in (pictures.cabinet_front(3), pictures.mains_inlet(3, bridged_fuse=True))[:count]:
        image.thumbnail((640, 640))
        made.append(pictures.as_jpeg(image, with_gps=True))
    return tuple(made)


def equip(shop: Shop) -> None:
    """The technician lists the instruments; the owner confirms the limits and puts them in force."""
    today = clock.now().date()
    for name, kind, stated in TOOLS:
        shop.bench.do("/instruments/add", {
            "name": name, "kind": kind, "serial": "40217", "category": "CAT III 600 V",
            "calibrated_on": f"{today - timedelta(days=90)}", "due_on": f"{today + timedelta(days=275)}", "certificate": "K-881"})
        own = found_by_words(shop.bench, "/instruments", r"/instruments/\d+$", name)
        for quantity, up_to, percent, counts, one in stated:
            shop.bench.do(f"{own}/accuracy", {"quantity": quantity, "up_to": up_to, "percent": percent, "counts": counts,
                                              "resolution": one})
    profile = next(link for link in shop.owner.links("/safety-profiles") if re.search(r"/safety-profiles/\d+$", link)
                   and "0701" in shop.owner.read(link))
    if f"{profile}/confirm" in shop.owner.links(profile):
        shop.owner.do(f"{profile}/confirm", {"edition": "2008", "edition_date": "2008-06-01",
                                              "reason": "the shop tests by it until its new tester comes"})
    shop.owner.do(f"{profile}/in-force", on=profile)


def found_by_words(hand: Hand, path: str, pattern: str, words: str) -> str:
    """The link whose page has these words."""
    for link in dict.fromkeys(one for one in hand.links(path) if re.search(pattern, one)):
        if words in hand.read(link):
            return link
    raise AssertionError(f"no page {pattern} from {path} has the words {words}")


def move_on(shop: Shop, hand: Hand, to: str) -> None:
    """Nothing is missing any more: the button is there and does it."""
    words = hand.do(shop.at("on"), on=shop.order)
    assert f"Now at {to}" in words, words[:400]


def try_to_move(shop: Shop, hand: Hand, stage: str) -> None:
    """Too early: refused with everything that is missing."""
    shop.refusals[stage] = hand.refused(shop.at("on"), on=shop.order)


def check_in(shop: Shop) -> None:
    """Mara takes the amp in: somebody new, an amp not seen before."""
    mara = shop.counter
    told = {"name": "Wren Adler", "phone": "0491 570 156", "email": "wren@adler.example", "maker": "Tarnholt",
            "model": "Meridian 30", "serial": "M30-0117", "complaint": COMPLAINT}
    mara.do("/check-in", told, on="/check-in?customer=new&amp=new")
    shop.order = found(mara, "/", r"/orders/\d+$")


def intake(shop: Shop) -> None:
    mara, at = shop.counter, shop.at
    try_to_move(shop, mara, "intake")
    mara.do(at("intake/complaint"), {"words": COMPLAINT, "connected": "its own speaker", "noticed": ["smell"], "keep": "old cloth"})
    mara.do(at("intake/amp"), {"mains_marking": "240 V 50 Hz 120 W", "protection_class": "I", "valves": "2 × 6L6GC, 3 × 12AX7"})
    mara.do(at("intake/condition"), {"zone": "front", "note": "grille torn at the left, 4 cm", "photos": shop.shots[0]})
    mara.do(at("intake/condition"), {"photos_serial": shop.shots[1 % len(shop.shots)]})
    mara.do(at("intake/accessories"), {"footswitch": "1", "mains_lead": "1"})
    mara.do(at("intake/look"), {"dangers": ["none"]})
    mara.do(at("intake/money"), {"fee_minor": "85", "ceiling_minor": "120"})
    mara.do(at("intake/terms"), {"signature": SIGNED})
    move_on(shop, mara, "teardown")


def discharge(ines: Hand, at: Callable[[str], str]) -> None:
    """The list from a usual layout; a round whose far node is at 42 V, which shows nothing; and another."""
    ines.do(at("discharge/list"), on=at("discharge/list?from=four-fixed"))
    proved = {"proved_before": "yes", "proved_after": "yes", "proved_on": "9 V battery", "stick_ohm": "10k", "stick_w": "10",
              "instrument": meter(ines, at("discharge"), "M2")}
    fields = [name for name in ines.fields(at("discharge")) if name.startswith("volts_")]
    for far, told in (("42", "Not shown below the limit: C4."), ("3.2", "Highest of 5: 3.2 V on C4")):
        readings = dict(zip(fields, ("0.6", "0.7", "1.9", far, "-0.2"), strict=True))
        words = ines.do(at("discharge"), {**readings, **proved})
        assert told in words, words[:700]


def teardown(shop: Shop) -> None:
    ines, at = shop.bench, shop.at
    try_to_move(shop, ines, "teardown")
    discharge(ines, at)
    ines.do(at("findings/new"), {
        "observation": "fuse carrier bridged with wire", "area": "mains", "origin": "earlier work", "severity": "3",
        "probability": "d", "hazard": "a fault could set the cabinet alight", "disposition": "replace_like",
        "check_words": "marking seen, running current read", "confidence": "probable",
        "cause": "put in after the fuse had blown often", "photos": shop.shots[1]})
    ines.do(at("findings/new"), {
        "observation": "brass plate under the fascia is loose", "area": "controls", "origin": "wear", "severity": "0",
        "disposition": "monitor", "check_words": "by hand", "confidence": "proven"})
    ines.do(at("removals/new"), {"mark": "P1", "name": "volume", "kind": "control",
                                 "stack": "knob\nnut\nfascia\nchassis\ntoothed washer\nbody", "side": "outside",
                                 "other_place": "front panel", "stays_on_loom": True})
    move_on(shop, ines, "quote")


def quote(shop: Shop) -> None:
    ines, mara, at = shop.bench, shop.counter, shop.at
    try_to_move(shop, ines, "quote")
    finding = number_in(found_by_words(ines, at("findings"), r"/findings/\d+$", "bridged"))
    ines.do(at("quote/lines/new"), {
        "finding": str(finding), "what": "New fuse carrier and the marked fuse", "group": "required for safety",
        "hours_likely": "0:45", "parts": "carrier, T 1.6 A fuse", "parts_minor": "18.50", "condition": "new",
        "warranty_days": "90"})
    ines.do(at("quote/lines/new"), {"what": "Clean and lubricate the controls", "group": "optional", "hours_likely": "0:30",
                                    "warranty_days": "90"})
    ines.do(at("quote/issue"), {"days_to_complete": "14", "could_change": "More may show once it runs under load."})
    mara.do(at("papers/estimate"))
    decided = {name: "agreed" if "carrier" in words else "declined" for name, words in answers_asked(mara, at("quote/answer"))}
    mara.do(at("quote/answer"), {**decided, "channel": "phone", "reached_at": "555 0199", "ceiling_minor": "200"})
    move_on(shop, mara, "parts")


def answers_asked(hand: Hand, path: str) -> list[tuple[str, str]]:
    """Each line that is asked about: its field, and what it is."""
    page = hand.read(path)
    names = sorted((name for name in hand.choices(path) if name.startswith("line_")), key=number_in)
    order = sorted(("New fuse carrier", "Clean and lubricate"), key=page.index)
    return list(zip(names, order, strict=True))


def parts(shop: Shop) -> None:
    ines, mara, at = shop.bench, shop.counter, shop.at
    try_to_move(shop, mara, "parts")
    line = next(value for value in ines.choices(at("parts/new"))["line_root_id"] if value != "0")
    ines.do(at("parts/new"), {"what": "fuse carrier with T 1.6 A fuse", "kind": "fuse", "quantity": "1", "place": "rear panel",
                              "line_root_id": line})
    own = re.sub(r"/order$", "", found(mara, at("parts"), r"/parts/\d+/order$"))
    mara.do(f"{own}/order", {"supplier": "Brackwater Components", "ordered_minor": "18.50"})
    mara.do(f"{own}/receive", {"condition": "new", "test": "passed", "test_words": "carrier closes", "charged_minor": "18.50"})
    move_on(shop, mara, "reassembly")
    ines.do(f"{own}/fit", {"fitted_place": "rear panel"})


def reassembly(shop: Shop) -> None:
    ines, at = shop.bench, shop.at
    try_to_move(shop, ines, "reassembly")
    bridged = found_by_words(ines, at("findings"), r"/findings/\d+$", "bridged")
    ines.do(f"{bridged}/done", {"words": "New carrier, T 1.6 A fitted."})
    for _ in range(60):
        nexts = [link for link in ines.links(at("way-back")) if re.search(r"/way-back/(do|count|measure)/", link)]
        if not nexts:
            break
        put_back(ines, nexts[0], at("way-back"))
    assert "Reassembly complete" in ines.read(at("way-back"))
    move_on(shop, ines, "safety test")


def put_back(hand: Hand, link: str, page: str) -> None:
    """One step of the way back, as the page asks for it."""
    if "/measure/" in link:
        wants = hand.fields(link)
        hand.do(link, {"typed": "0.05" if wants.get("upper") else ">200M"})
    elif "/count/" in link:
        figures = {name: "0" for name in hand.fields(link) if name.startswith("piece_")}
        hand.do(link, {"looked": True, **figures})
    else:
        hand.do(link, on=page)


def safety(shop: Shop) -> None:
    ines, at = shop.bench, shop.at
    try_to_move(shop, ines, "safety test")
    ines.do(at("readings/points/add"), {"name": "HT at the reservoir", "quantity": "V DC", "expected": "438", "lower": "421",
                                        "upper": "455", "basis": "computed from its parts"})
    point = found(ines, at("readings"), r"/points/\d+$")
    ines.do(f"{point}/read", {"typed": "440", "phase": "as left", "instrument": meter(ines, f"{point}/read", "M2"),
                              "condition": "at idle"})
    switch_off(ines, at("readings"))
    for finding in sorted({one for one in ines.links(at("safety")) if re.search(r"/safety/findings/\d+$", one)}):
        ines.do(finding, {"result": "seen and tried, as it should be", "instrument": "M2"})
    ines.do(at("safety/start"), {"lead_metre": "3", "lead_mm2": "1.0", "mains_v": "240", "conducts": "no"})
    test = found(ines, at("safety"), r"/safety/tests/\d+$")
    measure_all(ines, test, GOOD)
    ines.do(f"{test}/complete", {"tag": "S-0417"}, on=test)
    switch_off(ines, test)
    ines.do(at("safety/soak"), {"load": "8 Ω, a third of full power", "mains_v": "240"})
    shop.watch.ahead += timedelta(hours=2, minutes=5)
    for hand in (shop.counter, shop.bench, shop.owner):
        hand.back_again()
    over = found(ines, at("safety/soak"), r"/soak/\d+/end$")
    ines.do(over, {"symptom": "no", "observations": "steady, no smell"}, on=at("safety/soak"))
    switch_off(ines, at("safety"))
    move_on(shop, ines, "return")


def switch_off(hand: Hand, page: str) -> None:
    """The bar on top of every page of an amp that is on power."""
    off = re.sub(r"(/orders/\d+).*", r"\1/power-off", page)
    hand.do(off, on=page)


def measure_all(hand: Hand, test: str, readings: dict[str, str]) -> None:
    """Every step of a test that is still open, one after another, as the page leads."""
    for step in dict.fromkeys(link for link in hand.links(test) if re.search(r"/safety/steps/\d+$", link)):
        asked = hand.choices(step)
        if "seen" in asked:
            hand.do(step, {"seen": "yes", "words": "T 1.6 A, 250 V"})
        else:
            title = hand.read(step).split(" · ")[0]
            if "none_there" in asked:  # this amp has no such part
                hand.do(step, {"none_there": "y"})
                continue
            level = {"Protective earth resistance": {"level": "200m"}, "Insulation resistance": {"level": "500"}}.get(title, {})
            hand.do(step, {"typed": readings[title], "instrument": meter(hand, step, "E1"), **level})


def meter(hand: Hand, page: str, name: str) -> str:
    """The choice of the instrument with this name."""
    return next(value for value, words in hand.choices(page)["instrument"].items() if words.startswith(name))


def all_back(fields: dict[str, object]) -> dict[str, str]:
    """Every accessory counted back: one of each came in."""
    return {name: "1" for name in fields if name.startswith("given_")}


def door(shop: Shop) -> None:
    """Mara hands it out: everything off the list, paid, shown, signed, and the report with it."""
    mara, at = shop.counter, shop.at
    shop.refusals["return"] = mara.refused(at("return/out"), on=at("return"))
    mara.do(at("return/accessories"), all_back(mara.fields(at("return/accessories"))))
    mara.do(at("return/old-parts"), {"fate": "given back", "which": "the bridged carrier, in a bag"})
    mara.do(at("return/sums"), {"method": "card", "paid_minor": mara.fields(at("return/sums"))["due_minor"]})
    mara.do(at("return/shown"), {"shown": "yes", "said": "which load, which spare fuse"})
    mara.do(at("photos"), {"place": "front", "phase": "as_left", "photos": shop.shots[0]})
    mara.do(at("return/sign"), {"name": "Wren Adler", "who": "who left it", "signature": SIGNED})
    mara.do(at("papers/report"))
    words = mara.do(at("return/out"), on=at("return"))
    assert "Returned repaired" in mara.read(shop.order), words[:400]


def unrepaired(shop: Shop) -> None:
    """Nothing is done to it, and it goes home so that nobody can switch it on by mistake."""
    mara, at = shop.counter, shop.at
    shop.refusals["unrepaired"] = mara.refused(at("return/unrepaired/out"), on=at("return/unrepaired"))
    mara.do(at("return/unrepaired/why"), {
        "reason": "the customer declined the repair", "danger": "The front panel can become live: touching it can kill.",
        "measures": ["mains lead removed"], "tag": "T-0031"})
    mara.do(at("return/accessories"), all_back(mara.fields(at("return/accessories"))))
    mara.do(at("return/old-parts"), {"fate": "none came out"})
    if due := str(mara.fields(at("return/sums"))["due_minor"]):
        mara.do(at("return/sums"), {"paid_minor": due, "method": "nothing was paid" if due == "0.00" else "card"})
    mara.do(at("return/unrepaired/acknowledge"), {"name": "Wren Adler", "how": "signed on the screen", "signature": SIGNED})
    mara.do(at("papers/unrepaired"))
    label = next(link for link in mara.links(at("papers")) if re.search(r"/papers/\d+$", link)
                 and "Not tied to the amp yet" in mara.read(link))
    mara.do(f"{label}/tied", on=label)
    mara.do(at("return/unrepaired/out"), on=at("return/unrepaired"))


def come_back(shop: Shop) -> str:
    """The amp is in again: a new order that names the first."""
    shop.counter.do(shop.at("return/come-back"), {"complaint": "it hums again after an hour", "warranty": "yes"})
    return found(shop.counter, "/", r"/orders/\d+$")


STAGES: tuple[Callable[[Shop], None], ...] = (check_in, intake, teardown, quote, parts, reassembly, safety, door)
