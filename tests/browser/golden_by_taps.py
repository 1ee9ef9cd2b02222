"""The invented two-EL34 head of the golden cases, by taps at the bench tablet from strip-down to the last count.

By hand, some minutes: `.venv/bin/python -m tests.browser.golden_by_taps [folder for pictures]`. Its removals are entered by
the form, the plan is followed to its end with readings, power-ups, discharges and counts; what each act cost in taps and keys
is printed. Exit status 1 if any page errs. What the amp's record cannot hold (its own measurements, named cavities) is the plan's.
"""

from __future__ import annotations

import json
import statistics
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from flask import Flask

from app.db import session, transaction
from app.measuring.rules import Quantity, Statement
from app.measuring.service import instruments as instruments_service
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.way import way_back
from tests import factories, served
from tests.browser.strip_down_timing import Finger, Server, new_shop
from tests.discharge import make as emptied
from tests.people import BY, PASSWORD
from tests.reassembly.test_way_back import meter
from tests.removals.make import NOW

CASE = Path(__file__).parents[1] / "reassembly" / "golden_cases" / "two_el34_head.json"
KINDS = {"back panel": "cover", "pot": "control", "switch": "control", "jack, isolated": "jack_isolated",
         "valve base": "valve_base", "valve retainer": "retainer", "fuse holder": "fuse_holder",
         "mains conductor live": "mains_lead",
         "mains conductor neutral": "mains_lead", "protective earth conductor": "protective_earth", "resistor": "wire",
         "screening can": "retainer", "cabinet": "chassis", "lamp holder": "lamp", "fascia": "panel", "IEC inlet": "inlet",
         "earth stud": "protective_earth", "tag board": "tag_board", "bias board": "tag_board", "electrolytic": "wire",
         "can capacitor": "can_capacitor", "capacitor clamp": "clamp", "output transformer": "output_transformer",
         "mains transformer": "mains_transformer", "insulation": "part", "grommet": "part", "earth tag": "part"}
OHMS = {"PE": "0.12", "ISO": ">200M", "IR": ">200M"}
STAGES = {"LAMP": ("HT winding", "330", "300", "350"), "BIAS": ("", "-42", "-60", "-35"), "HT": ("reservoir", "440", "400", "470"),
          "SMALL": ("V1 anode", "180", "150", "220"), "OUT": ("", "36m", "25m", "45m")}


def kind_of(row: Mapping[str, Any]) -> str:
    if row["id"] in ("V4", "V5"):
        return "output_valve"
    return KINDS.get(row["kind"], row["kind"].replace(" ", "_"))


def pieces_of(row: Mapping[str, Any]) -> tuple[list[str], list[str]]:
    """Its one stack, and what lies in stacks of which there are several, counted."""
    stack: list[str] = []
    loose: list[str] = []
    for one in row["stacks"]:
        words = [piece.strip("()") for piece in one["outer_to_inner"]]
        if one["times"] == 1 and not stack:
            stack = words
        else:
            loose += [f"{one['times']} {piece}" for piece in one["outer_to_inner"] if not piece.startswith("(")]
    return stack, loose


def ends_of(row: Mapping[str, Any], joints: Mapping[str, Any]) -> list[str]:
    """Each end as the form takes it: XV4:5 white, with how it was lifted and whether it is out of sight."""
    told = []
    for end in row["ends"]:
        lifted = "" if end["lifted"] == "desoldered" else end["lifted"]
        hidden = "hidden" if joints.get(end["at"], {}).get("hidden") else ""
        told.append(" ".join(filter(None, [end["at"], end["colour"].replace("/", " "), lifted, hidden])))
    return told


def open_more(hand: Finger, field: str) -> None:
    """The fold that a field lies in, by a tap, if it is closed."""
    fold = hand.page.locator(f"details:has({field})").last
    if fold.count() and fold.get_attribute("open") is None:
        hand.tap(fold.locator("summary").first)


def remove(hand: Finger, order: str, row: Mapping[str, Any], joints: Mapping[str, Any]) -> None:
    kind, (stack, loose), ends = kind_of(row), pieces_of(row), ends_of(row, joints)
    with hand.act(f"removal of {'a lead' if ends and not stack else 'a part'}"):
        hand.tap(f"[name=kind][value={kind}]")
        hand.type("#mark", row["id"])
        hand.type("#name", row["name"])
        if stack:
            hand.type("#stack", "\n".join(stack))
        if loose:
            open_more(hand, "#other_pieces")
            hand.type("#other_pieces", ", ".join(loose))
        if row["side"]:
            hand.tap(f"[name=side][value={row['side']}]")
        if row["place"]:
            known = hand.page.locator(f"[name=place][value={json.dumps(row['place'])}]")
            if known.count():
                hand.tap(known.first)
            else:
                hand.type("#other_place", row["place"])
        for mark in row["was_under"]:
            chip = f"[name=under][value={json.dumps(mark)}]"
            open_more(hand, chip)
            hand.tap(chip)
        if row["stays_on_loom"] or (ends and not stack):
            hand.tap("#stays_on_loom")
        elif stack or loose:
            hand.type("#bag", f"bag {row['id']}")
        else:
            hand.type("#bag", "tray 1")
        if row["fixed_to"] or ends:
            open_more(hand, "#ends")
        if row["fixed_to"]:
            hand.type("#fixed_to", row["fixed_to"])
        if ends:
            hand.type("#ends", "\n".join(ends))
        if row["sub_assembly"]:
            known = hand.page.locator(f"[name=unit][value={json.dumps(row['sub_assembly'])}]")
            if known.count():
                hand.tap(known.first)
            else:
                open_more(hand, "#other_unit")
                hand.type("#other_unit", row["sub_assembly"])
        if row["fate"] not in ("refit", "new"):
            hand.tap(f"[name=fate][value={row['fate']}]")
            open_more(hand, "#fate_reason")
            if row["fate"] == "replace":
                hand.tap("[name=old_part] >> nth=0")
            hand.type("#fate_reason", "worn")
        hand.go("button[name=then][value=next]")


class Bench:
    """The order at the bench: what a count must find is looked up as hands would find it."""

    def __init__(self, app: Flask, order_id: int) -> None:
        self.app, self.order_id = app, order_id

    def due(self, step: str) -> tuple[list[int], int]:
        with self.app.app_context():
            order = session().get_one(RepairOrder, self.order_id)
            way = way_back(order, planned=False)
            return [one.expected for one in due_at(order, way, step)], ends_due(way, step)

    def steps(self) -> tuple[int, int, list[str]]:
        with self.app.app_context():
            way = way_back(session().get_one(RepairOrder, self.order_id))
            return len(way.done), len(way.steps), [str(one) for one in way.conflicts] + [one.words for one in way.questions]


def work_back(hand: Finger, bench: Bench, order: str, shots: Path | None) -> None:
    seen: set[str] = set()
    hand.open(f"{order}/way-back")
    for _ in range(400):
        page, main = hand.page, hand.page.locator(".way-now")
        if page.get_by_text("Reassembly complete").count():
            return
        done, other = main.locator("#done-form button"), main.locator(".actions a.btn-main, .actions .btn-main").first
        kind = "done" if done.count() else (other.get_attribute("href") or "/off/form").split("?")[0].rsplit("/", 2)[-2]
        if shots and kind not in seen and not seen.add(kind):
            page.screenshot(path=shots / f"way-{len(seen):02}-{kind}.png")
        if done.count():
            alike = main.locator("#run-form button")
            with hand.act("way back: all alike done" if alike.count() else "way back: done"):
                if page.locator("#done-form #authority").count():
                    hand.type("#done-form #authority", "Wren Adler, by phone")
                    hand.go(done)
                else:
                    hand.go(alike if alike.count() else done)
            continue
        step(hand, bench, other, shots, seen)
    raise AssertionError("the way back does not end")


def step(hand: Finger, bench: Bench, other: Any, shots: Path | None, seen: set[str]) -> None:
    """What a tap alone does not do: a reading, a count, power on, off, the discharge."""
    href = other.get_attribute("href") or ""
    path = unquote(href.split("?")[0])
    name = path.rsplit("/", 1)[-1]
    if "/measure/" in path:
        reading(hand, other, name)
    elif "/count/" in path:
        with hand.act("way back: look at joints" if name.startswith(("V", "LOOK")) else "way back: count"):
            hand.go(other)
            if shots and f"count-{name}" not in seen and len(seen) < 30:
                seen.add(f"count-{name}")
                hand.page.screenshot(path=shots / f"count-{name}.png")
            count(hand, bench, name)
    elif "/stage/" in path:
        with hand.act(f"way back: stage {name}"):
            hand.go(other)
            stage(hand, name)
    elif path.endswith("/power-up"):
        with hand.act("way back: power on"):
            hand.go(other)
            if hand.page.locator("#reason").count():
                hand.type("#reason", "covers off, as planned")
            hand.go("form:has(#why) button[type=submit]")
    elif path.endswith("/discharge"):
        with hand.act("way back: discharge, recorded"):
            hand.go(other)
            discharge(hand)
        hand.open(path.replace("/discharge", "/way-back"))
        if hand.page.locator("#dead-form button").count():
            with hand.act("way back: dead confirmed"):
                hand.go("#dead-form button")
    else:
        with hand.act("way back: switched off"):
            hand.go("#off-form button")


def reading(hand: Finger, other: Any, name: str) -> None:
    with hand.act("way back: insulation, asked and read" if name.startswith("IR") else "way back: reading"):
        hand.go(other)
        if name.startswith("IR") and not hand.page.locator("#typed").count():
            hand.go("#fitted-form [value=no]")
        hand.type("#typed", next(OHMS[one] for one in OHMS if name.startswith(one)), there=True)
        meter_in_hand(hand)
        if name.startswith("IR"):
            hand.tap("[name=level][value='500.0']")
            hand.tap("#unplugged")
        hand.go("form:has(#typed) button[type=submit]")


def meter_in_hand(hand: Finger) -> None:
    """The tester that the readings are made with, where another is offered first."""
    field = hand.page.locator("#instrument")
    if not field.locator("option:checked").inner_text().startswith("M1"):
        field.select_option(label="M1")
        hand.taps += 2


def count(hand: Finger, bench: Bench, name: str) -> None:
    due, ends = bench.due(name)
    fields = hand.page.locator("[name^=piece_]")
    for number in range(fields.count()):
        if due[number]:
            hand.type(f"#piece_{number}", str(due[number]))
        else:
            hand.tap(f".count-row:has(#piece_{number}) [data-step='-1']")
    if hand.page.locator("#ends").count():
        hand.type("#ends", str(ends))
    hand.tap("#looked")
    hand.go("form:has(#looked) button[type=submit]")


def stage(hand: Finger, name: str) -> None:
    point, typed, lower, upper = STAGES[name]
    for _ in range(6):
        if "/stage/" not in hand.page.url:
            return
        if hand.page.locator("#stage-form button").count():
            hand.go("#stage-form button")
            continue
        if point:
            hand.type("#point", point)
        hand.type("#typed", typed)
        meter_in_hand(hand)
        for field, words in (("lower", lower), ("upper", upper), ("basis", "the drawing")):
            if not hand.page.locator(f"#{field}").input_value():
                hand.type(f"#{field}", words)
        hand.go("form:has(#typed) button[type=submit]")


def discharge(hand: Finger) -> None:
    page = hand.page
    for field in page.locator("[name^=volts_]").all():
        here = field.get_attribute("id")
        hint = page.locator(f"div.field:has(#{here})").last.inner_text()
        hand.type(f"#{here}", "-0.6" if "negative" in hint else "0.6")
    for name in ("proved_before", "proved_after"):
        hand.tap(f"[name={name}][value=yes]" if page.locator(f"[name={name}][value=yes]").count() else f"[name={name}] >> nth=0")
    for name, words in (("proved_on", "9 V battery"), ("stick_ohm", "10k"), ("stick_w", "10"), ("held_s", "60")):
        field = page.locator(f"form:has([name=proved_on]) [name={name}]")
        if not field.input_value():
            field.fill(words)
            hand.taps, hand.keys = hand.taps + 1, hand.keys + len(words)
    hand.go("form:has([name=proved_on]) button[type=submit]")


def table(hand: Finger) -> None:
    print(f"\n{'act':44} {'n':>4} {'taps':>12} {'keys':>12}   ms to next page (median)")
    for name, acts in hand.acts.items():
        taps, keys, waits = [one[1] for one in acts], [one[2] for one in acts], [one[0] for one in acts]
        print(f"{name:44} {len(acts):4} {f'{statistics.median(taps):g} ({max(taps)})':>12} "
              f"{f'{statistics.median(keys):g} ({max(keys)})':>12}   {statistics.median(waits):.0f}")
    for part in ("removal", "way back"):
        acts = [one for name, listed in hand.acts.items() if name.startswith(part) for one in listed]
        print(f"{part}: {len(acts)} acts, {sum(one[1] for one in acts)} taps, {sum(one[2] for one in acts)} keys")


def main() -> int:
    case = json.loads(CASE.read_text())
    with tempfile.TemporaryDirectory() as place:
        data, shots = Path(place), Path(sys.argv[1]) if len(sys.argv) > 1 else None
        app, cast = new_shop(data)
        with app.app_context(), transaction():
            instrument = meter()
            for quantity in (Quantity.VOLT_AC, Quantity.VOLT_DC, Quantity.AMP_DC):
                instruments_service.state_accuracy(instrument, Statement(quantity, 1000.0, 0.5, 2, 0.001), by=BY, now=NOW)
            order = factories.order()
            order.stage = Stage.REASSEMBLY  # the quote is answered, new parts are agreed
            emptied.listed(order)
            emptied.meter()
            order_id = order.id
        server, fault = Server(app), ""
        with served.served(app) as address, served.chromium() as browser:
            hand = Finger(served.tablet(browser, address))
            hand.open("/people/sign-in")
            hand.type("#name", cast.technician.name)
            hand.type("#password", PASSWORD)
            hand.go("main form button[type=submit]")
            bench = Bench(app, order_id)
            try:
                hand.open(f"/orders/{order_id}/removals/new")
                for row in case["removals"]:
                    remove(hand, f"/orders/{order_id}", row, case["joints"])
                print(bench.steps())
                work_back(hand, bench, f"/orders/{order_id}", shots)
            except Exception as wrong:
                fault = f"{hand.page.url}: {type(wrong).__name__}: {wrong}"[:900]
                if shots:
                    hand.page.screenshot(path=shots / "fault.png", full_page=True)
            print(bench.steps())
            table(hand)
        wrong = [*server.wrong, *hand.complaints, *([fault] if fault else [])]
        print("\n".join(["", *wrong[:20]]) if wrong else "\nNo page erred.")
        return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
