"""Renews the README's pictures in demo_data/screens from a demo data folder, in a real browser. By hand:
`.venv/bin/python -m demo_data.screens demo-shop`. It works on a copy: the folder stays as it is."""

from __future__ import annotations

import io
import shutil
import sys
import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from urllib.parse import urlencode

from PIL import Image
from playwright.sync_api import Page

from app import clock, config, create_app
from app.access.models import Person
from app.access.rules import Role
from app.db import session, transaction
from app.journal.service import Actor
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.photos.models import Photo, Pin
from app.reassembly.queries.way import way_back
from app.removals.rules import Went
from app.removals.service import pieces as pieces_service
from tests import served

FOLDER = Path(__file__).parent / "screens"
MOST = 200_000  # bytes of a picture
CONTROL = ("knob", "nut", "flat washer", "fascia", "chassis", "toothed washer", "body")
NOT_COPIED = shutil.ignore_patterns("in-use", "*.tar")


def main(data: Path) -> None:
    """Serve a copy of `data` and take every picture of it."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(shutil.copytree(data, Path(folder) / "shop", ignore=NOT_COPIED))
        app = create_app(config.load(copy))
        with app.test_request_context():
            anybody, places = _places()
        with closing(app.extensions["tagstrip_db"]), served.served(app) as address, served.chromium() as browser:
            context = served.tablet(browser, address)
            served.sign_in(context, app, address, anybody)
            page = context.new_page()
            for name, (path, before) in places.items():
                page.goto(path)
                served.ready(page)
                before(page)
                _keep(page, FOLDER / name)


Before = Callable[[Page], object]


def _places() -> tuple[int, dict[str, tuple[str, Before]]]:
    """Who looks, and for each picture its page and what is done there first."""
    person = session().query(Person).filter_by(role=Role.TECHNICIAN, active=True).order_by(Person.id).first()
    returning, way, tested = (_in(stage) for stage in (Stage.RETURN, Stage.REASSEMBLY, Stage.SAFETY_TEST))
    pin = session().query(Pin).join(Photo, Photo.id == Pin.photo_id).filter(
        Pin.finding_id.is_not(None), Pin.order_id == returning.id, Photo.struck_at.is_(None)).order_by(Pin.id).first()
    if person is None or pin is None:
        raise SystemExit("Nobody works there, or no finding is pinned: take a fresh demo folder.")
    return person.id, {
        "bench.png": ("/", _nothing),
        "order.png": (f"/orders/{returning.id}", _nothing),
        "pinned.jpg": (f"/photos/{pin.photo_id}", _nothing),
        "stack.png": (f"/orders/{way.id}/removals/new", _tap_a_stack),
        "wayback.png": (f"/orders/{way.id}/way-back", _nothing),
        "balance.png": (f"/orders/{tested.id}/way-back/count/{_one_too_many(tested, person)}", _nothing),
        "sums.png": ("/sums/reservoir?" + urlencode({"load_ohm": "3k", "mine": "yes"}), _nothing),
    }


def _in(stage: Stage) -> RepairOrder:
    """The first order that stands there and is open."""
    found = [one for one in session().query(RepairOrder).filter_by(stage=stage).order_by(RepairOrder.id) if one.is_open]
    if not found:
        raise SystemExit(f"No amp waits at {stage.word}: take a fresh demo folder.")
    return found[0]


def _one_too_many(order: RepairOrder, person: Person) -> str:
    """A washer that nobody took off is entered as fitted; the step whose count says so."""
    by = Actor(person.id, person.name, "this machine")
    with transaction():
        pieces_service.enter_pieces(order, "flat washer", Went.REFITTED, 1, by=by, now=clock.now())
    way = way_back(order, planned=False)
    counts = {what: step for step, (what, _) in way.origins.items() if what.startswith("CT")}
    return counts.get("CT_final") or counts["CT"]


def _nothing(page: Page) -> None:
    """The page as it opens."""


def _tap_a_stack(page: Page) -> None:
    page.get_by_label("pot or switch").check(force=True)
    for piece in CONTROL:
        page.locator(f'.stack-taps [data-piece="{piece}"]').click()
    page.wait_for_selector(".stack-sketch svg")
    page.locator(".stack-sketch").evaluate("it => it.scrollIntoView({block: 'end'})")
    page.mouse.wheel(0, 140)  # clear of the bar that stays at the foot
    page.mouse.move(0, 0)


def _keep(page: Page, file: Path) -> None:
    """A photograph as JPEG, everything else as PNG of 128 colours."""
    page.evaluate("document.fonts.ready")
    image = Image.open(io.BytesIO(page.screenshot(animations="disabled"))).convert("RGB")
    out = io.BytesIO()
    if file.suffix == ".jpg":
        image.save(out, "JPEG", quality=82, optimize=True)
    else:
        image.quantize(128, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
    if len(out.getvalue()) > MOST:
        raise SystemExit(f"{file.name} has {len(out.getvalue())} bytes, more than {MOST}.")
    file.write_bytes(out.getvalue())
    print(f"{file.name}: {len(out.getvalue()) // 1000} kB")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        raise SystemExit("Say which demo data folder: .venv/bin/python -m demo_data.screens demo-shop")
    main(Path(sys.argv[1]))
