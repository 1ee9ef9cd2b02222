"""A whole strip-down by taps at the bench tablet, every page timed: 40 photos, 30 findings, 60 removals, then the way back.

By hand: `.venv/bin/python -m tests.browser.strip_down_timing [folder for pictures]`. Exit status 1 if any page errs.
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import sqlalchemy as sa
from flask import Flask, g, request
from PIL import Image
from playwright.sync_api import BrowserContext, Locator

from app import create_app, migrate
from app.db import make_engine, transaction
from demo_data import pictures
from tests import factories, served
from tests.conftest import configure, furnish
from tests.people import PASSWORD, Cast
from tests.reassembly.test_way_back import meter

SHOTS: tuple[tuple[str, Callable[[int], Image.Image]], ...] = (
    ("mains inlet", pictures.mains_inlet), ("HT supply", pictures.capacitor_can), ("valve bases", pictures.valve_base),
    ("board 1", pictures.tag_board), ("controls", pictures.control_panel))
CLOSING = {"screw": 6}  # what lies in the bag of the cover
READINGS = {"PE": "0.12", "IR": ">200M", "ISO": ">200M"}
POT = ("knob", "nut", "flat washer", "fascia", "chassis", "toothed washer", "body")
SWITCH = ("dress nut", "flat washer", "fascia", "chassis", "toothed washer", "back-nut", "body")
JACK = ("nut", "flat washer", "fascia", "chassis", "toothed washer", "body")
# Kind, how many, stack, counters (piece → count): sixty in all; bases and wires come with `wires`.
LEDGER: tuple[tuple[str, int, tuple[str, ...], dict[str, int]], ...] = (
    ("cover", 1, (), {"screw": 6}), ("panel", 1, (), {"screw": 2}), ("control", 8, POT, {}), ("control", 2, SWITCH, {}),
    ("jack", 4, JACK, {}), ("part", 16, (), {"screw": 2, "spring_washer": 2}), ("mains_transformer", 1, (), {}),
    ("bolt", 4, ("flat washer", "chassis", "spring washer", "nut"), {"bolt": 1}),
    ("protective_earth", 1, (), {"nut": 2, "screw": 1}),
    ("valve_base", 4, (), {"screw": 2, "nut": 2}), ("mains_lead", 2, (), {}), ("wire", 16, (), {}))


def photo_of(draw: Callable[[int], Image.Image], seed: int) -> bytes:
    """A JPEG of 4000 × 3000 with the noise of a small sensor."""
    image = np.asarray(draw(1 + seed % 2).resize((4000, 3000)), dtype=np.int16)
    noise = np.random.default_rng(seed).integers(-6, 7, (3000, 4000, 1), dtype=np.int16)
    out = io.BytesIO()
    Image.fromarray(np.clip(image + noise, 0, 255).astype(np.uint8)).save(out, "JPEG", quality=88)
    return out.getvalue()


class Server:
    """What each page cost: its own time and its statements, by endpoint."""

    def __init__(self, app: Flask) -> None:
        self.pages: dict[str, list[tuple[float, int]]] = defaultdict(list)
        self.wrong: list[str] = []
        here = threading.local()
        sa.event.listen(app.extensions["tagstrip_db"].engine, "before_cursor_execute",
                        lambda *_: setattr(here, "asked", getattr(here, "asked", 0) + 1))

        def began() -> None:
            g.began, here.asked = time.perf_counter(), 0

        def ended(answer: Any) -> Any:
            took = (time.perf_counter() - g.began) * 1000 if "began" in g else 0.0
            self.pages[f"{request.method} {request.endpoint}"].append((took, here.asked))
            if answer.status_code >= 400:
                self.wrong.append(f"{answer.status_code} {request.method} {request.path}")
            return answer

        app.before_request_funcs.setdefault(None, []).insert(0, began)
        app.after_request(ended)


class Finger:
    """Taps, keys and the time from the tap that leaves a page to the next page ready, by act."""

    def __init__(self, context: BrowserContext) -> None:
        self.complaints: list[str] = []
        self.page = served.watched(context, self.complaints)
        self.acts: dict[str, list[tuple[float, int, int]]] = defaultdict(list)
        self.taps = self.keys = 0
        self.waited: list[float] = []

    @contextmanager
    def act(self, name: str) -> Iterator[None]:
        self.taps = self.keys = 0
        self.waited = []
        yield
        self.acts[name].append((sum(self.waited), self.taps, self.keys))

    def open(self, path: str) -> None:
        began = time.perf_counter()
        self.page.goto(path)
        served.ready(self.page)
        self.waited.append((time.perf_counter() - began) * 1000)

    def tap(self, what: str | Locator) -> None:
        (self.page.locator(what).first if isinstance(what, str) else what).tap()
        self.taps += 1

    def go(self, what: str | Locator) -> None:
        """A tap that leads to another page."""
        began = time.perf_counter()
        with self.page.expect_navigation():
            self.tap(what)
        served.ready(self.page)
        self.waited.append((time.perf_counter() - began) * 1000)
        if self.page.title().startswith("Error"):
            raise AssertionError(f"{self.page.url}: {self.page.locator('.errors').inner_text()}")

    def type(self, what: str, words: str, *, there: bool = False) -> None:
        """Keys into a field; `there`: the cursor stands in it already."""
        self.page.locator(what).first.fill(words)
        self.taps += not there
        self.keys += len(words)


def take_photos(hand: Finger, order: str) -> None:
    hand.open(f"{order}/photos")
    for number in range(40):
        place, draw = SHOTS[number // 8]
        data = photo_of(draw, number)
        with hand.act("photo into the run"):
            if number % 8 == 0:
                hand.tap(f"[name=place][value='{place}']")
            began = time.perf_counter()
            hand.taps += 1  # the button that opens the camera; its own shutter is not ours
            hand.page.locator("input[type=file]").first.set_input_files(
                {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": data})
            hand.page.wait_for_function("n => document.querySelectorAll('.photo-rows > li').length === n", arg=number + 1)
            hand.waited.append((time.perf_counter() - began) * 1000)


def find(hand: Finger, order: str) -> None:
    hand.open(f"{order}/photos")
    hand.go(".photo-rows a")
    for number in range(30):
        with hand.act("finding from pin and chip, on to the next photo"):
            box = hand.page.locator(".pin-field").bounding_box()
            assert box is not None
            hand.page.touchscreen.tap(box["x"] + box["width"] * (0.2 + number % 7 / 10), box["y"] + min(box["height"], 300) * 0.5)
            hand.taps += 1
            hand.go(hand.page.get_by_role("link", name="New finding"))
            chips = hand.page.locator(".usual-entries a")
            hand.go(chips.nth(number % chips.count()))
            for asked in range(3):  # where the words leave open which it was
                if hand.page.locator(f"[name=seen_{asked}]").count():
                    hand.tap(f"[name=seen_{asked}]")
            hand.go("button[name=then][value=next]")


def remove(hand: Finger, order: str) -> None:
    with hand.act("one more off: the form"):
        hand.open(f"{order}/removals")
        hand.go(hand.page.get_by_role("link", name="Record a removal"))
    base = 0
    for kind, count, stack, counters in LEDGER:
        for number in range(count):
            first = number == 0
            with hand.act(name_of(kind, first)):
                hand.tap(f"[name=kind][value={kind}]")
                if kind == "panel":
                    hand.type("#name", "fascia")
                elif kind == "part":
                    hand.type("#name", f"can {number + 1}")
                if first:
                    pieces(hand, stack, counters)
                elif kind not in ("wire", "mains_lead"):
                    hand.tap(".as-last button")
                if kind in ("wire", "mains_lead"):
                    base = number // 4 + 1
                    wire(hand, f"XV{base}" if kind == "wire" else "T1", number % 4 + 1, first)
                hand.go("button[name=then][value=next]")


def name_of(kind: str, first: bool) -> str:
    if kind in ("wire", "mains_lead"):
        return "removal: wire end with pin and colour"
    return "removal: first of a kind, piece by piece" if first else "removal: as the last of its kind"


def pieces(hand: Finger, stack: tuple[str, ...], counters: dict[str, int]) -> None:
    for piece in stack:
        hand.tap(f"[data-piece='{piece}']")
    if counters:
        hand.tap(hand.page.locator("summary", has_text="Other small parts"))
        for piece, count in counters.items():
            for _ in range(count):
                hand.tap(f".count-row:has(#count_{piece}) [data-step='1']")


def wire(hand: Finger, to: str, pin: int, first: bool) -> None:
    """What it is soldered to is offered from the last one; another is typed."""
    if not first:
        hand.tap(".as-last button")
    else:
        hand.tap(hand.page.locator("summary", has_text="Wire ends"))
    if hand.page.locator("#fixed_to").input_value() != to:
        hand.type("#fixed_to", to)
    ends = hand.page.locator("[data-module=stack-taps]:has(#ends)")
    hand.tap(ends.locator(f"[data-piece='{pin}']"))
    hand.tap(ends.locator("[data-more='green']"))


def work_back(hand: Finger, order: str) -> None:
    way = f"{order}/way-back"
    with hand.act("way back: the page"):
        hand.open(way)
    while not hand.page.get_by_text("Reassembly complete").count():
        main = hand.page.locator(".way-now")
        alike, done, other = main.locator("#run-form button"), main.locator("#done-form button"), main.locator("a.btn-main")
        if alike.count() or done.count():
            with hand.act("way back: all alike done" if alike.count() else "way back: done"):
                hand.go(alike if alike.count() else done)
            continue
        step = (other.get_attribute("href") or "").rsplit("/", 1)[-1]
        if "/measure/" in (other.get_attribute("href") or ""):
            with hand.act("way back: insulation, asked and read" if step.startswith("IR") else "way back: reading"):
                hand.go(other)
                if hand.page.locator("#fitted-form [value=no]").count() and not hand.page.locator("#typed").count():
                    hand.go("#fitted-form [value=no]")
                hand.type("#typed", next(READINGS[one] for one in READINGS if step.startswith(one)), there=True)
                if step.startswith("IR"):
                    hand.tap("[name=level][value='500.0']")
                    hand.tap("#unplugged")
                hand.go("form:has(#typed) button[type=submit]")
        else:
            with hand.act("way back: count at a closure"):
                hand.go(other)
                count_pieces(hand, order)
                hand.tap("#looked")
                hand.go("main form button[type=submit]")


def count_pieces(hand: Finger, order: str) -> None:
    """Every figure that is due: minus enters 0; what lies in the bag of what closes is typed."""
    fields = hand.page.locator("[name^=piece_]")
    for number in range(fields.count()):
        name = fields.nth(number).get_attribute("name")
        words = hand.page.locator(f"label[for='{name}']").inner_text()
        sheet = hand.page.locator(f"section:has(#{name}) h2, .sheet:has(#{name}) h2").first.inner_text()
        if "Left over" in sheet:
            hand.tap(f".count-row:has(#{name}) [data-step='-1']")
        else:
            hand.type(f"#{name}", str(CLOSING.get(words.strip(), 0)))
    if hand.page.locator("#ends").count():
        hand.type("#ends", "4" if "/count/V" in hand.page.url else "2")


def undo_and_redo(hand: Finger, order: str) -> None:
    """The last thing is undone with a reason, once, and done again by `work_back`."""
    with hand.act("way back: undo with a reason"):
        hand.go(hand.page.locator(".way-now").get_by_role("link", name="Undo"))
        hand.tap("[name=usual]")
        hand.go("#undo-form button[type=submit]")


def look_around(hand: Finger, order: str) -> None:
    for page in ("", "/findings", "/photos", "/removals", "/removals/1", "/way-back", "/way-back/all", "/way-back/balance"):
        for _ in range(5):
            with hand.act(f"look: {page or 'the order'}"):
                hand.open(order + page)
    for _ in range(5):
        with hand.act("look: the bench list"):
            hand.open("/")


def row(name: str, times: list[float], more: str) -> str:
    ordered = sorted(times)
    late = ordered[min(len(ordered) - 1, int(len(ordered) * 0.95))]
    return f"{name:52} {len(times):4} {statistics.median(times):8.0f} {late:7.0f} {ordered[-1]:7.0f}  {more}"


def table(hand: Finger, server: Server, baseline: list[float]) -> None:
    base = statistics.median(baseline)
    print(f"\n{'act (tap to next page ready)':52} {'n':>4} {'median':>8} {'p95':>7} {'worst':>7}  taps keys (median, most)")
    for name, acts in hand.acts.items():
        taps, keys = [one[1] for one in acts], [one[2] for one in acts]
        words = f"{statistics.median(taps):g} ({max(taps)})  {statistics.median(keys):g} ({max(keys)})"
        print(row(name, [one[0] for one in acts], words))
    print(row("baseline: /healthz fetched in the page", baseline, ""))
    print(f"\n{'page (server only)':52} {'n':>4} {'median':>8} {'p95':>7} {'worst':>7}  queries, times /healthz")
    for name, seen in sorted(server.pages.items()):
        if "static" not in name and "font" not in name:
            asked = [one[1] for one in seen]
            ratio = statistics.median(one[0] for one in seen) / base
            print(row(name, [one[0] for one in seen], f"{min(asked)}–{max(asked)}  {ratio:.1f}"))


HEALTH = "async () => { const a = performance.now(); await (await fetch('/healthz')).text(); return performance.now() - a; }"


def new_shop(data: Path) -> tuple[Flask, Cast]:
    """An application on an open shop in an empty folder, and who works there."""
    url = f"sqlite:///{data / 'tagstrip.db'}"
    engine = make_engine(url)
    migrate.upgrade(engine)
    engine.dispose()
    cast = furnish(url, data)
    return create_app(configure(data, url)), cast


def main() -> int:
    with tempfile.TemporaryDirectory() as place:
        data, shots = Path(place), Path(sys.argv[1]) if len(sys.argv) > 1 else None
        app, cast = new_shop(data)
        with app.app_context(), transaction():
            meter()
            order_id = factories.order().id
        server = Server(app)
        with served.served(app) as address, served.chromium() as browser:
            hand = Finger(served.tablet(browser, address))
            hand.open("/people/sign-in")
            hand.type("#name", cast.technician.name)
            hand.type("#password", PASSWORD)
            hand.go("main form button[type=submit]")
            baseline = [hand.page.evaluate(HEALTH) for _ in range(30)]
            fault = ""
            try:
                walk(hand, f"/orders/{order_id}", shots)
            except Exception as wrong:
                fault = f"{type(wrong).__name__}: {wrong}"[:800]
            table(hand, server, baseline)
        wrong = [*server.wrong, *hand.complaints, *([fault] if fault else [])]
        print("\n".join(["", *wrong[:20]]) if wrong else "\nNo page erred.")
        return 1 if wrong else 0


def walk(hand: Finger, order: str, shots: Path | None) -> None:
    take_photos(hand, order)
    find(hand, order)
    remove(hand, order)
    look_around(hand, order)
    if shots:
        picture(hand, shots, "pinned", "/photos/1")
        picture(hand, shots, "stack", f"{order}/removals/3")
    hand.open(f"{order}/way-back")
    with hand.act("way back: all alike done"):
        hand.go(".way-now form button >> nth=-1")
    undo_and_redo(hand, order)
    work_back(hand, order)


def picture(hand: Finger, shots: Path, name: str, path: str) -> None:
    hand.open(path)
    for light in ("light", "dark"):
        hand.page.emulate_media(color_scheme="dark" if light == "dark" else "light")
        hand.page.wait_for_function("() => document.getAnimations().length === 0")
        hand.page.screenshot(path=shots / f"{name}-{light}.png")
    hand.page.emulate_media(color_scheme="light")


if __name__ == "__main__":
    sys.exit(main())
