"""Fifty people at once on a served shop: 70 % read, 25 % save, 5 % save a photo, as fast as answers come back."""

from __future__ import annotations

import random
import secrets
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

import sqlalchemy as sa

from app import create_app
from app.backup.verify import verify
from app.db import session
from app.findings.models.waste import Waste
from app.findings.rules.waste import Material
from app.photos.models import Photo
from tests.faults.shop import Browser, Shop
from tests.long_check.kills import picture
from tests.long_check.shops import Small, let_go

READ, SAVE = 0.70, 0.95  # the rest saves photos


@dataclass
class Heard:
    """What one client was answered: seconds by kind, statuses, and what was acknowledged."""

    took: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    statuses: Counter[int] = field(default_factory=Counter)
    acknowledged: list[str] = field(default_factory=list)


def run(shop: Small, seconds: float) -> Mapping[str, int | float]:
    """Serve the shop and let each open sign-in work for so long; what came of it."""
    served = Shop(shop.config.data, shop.config.database_url)
    served.start()
    try:
        heard = [Heard() for _ in shop.tokens]
        begin = threading.Barrier(len(heard))
        threads = [threading.Thread(target=_work, args=(served, shop, number, token, heard[number], begin, seconds))
                   for number, token in enumerate(shop.tokens)]
        for one in threads:
            one.start()
        for one in threads:
            one.join()
    finally:
        served.kill()
    return _told(shop, heard)


def _work(served: Shop, shop: Small, number: int, token: str, heard: Heard, begin: threading.Barrier,
          seconds: float) -> None:
    chance, browser = random.Random(number), Browser(served, token)
    order = shop.orders[number % len(shop.orders)]
    page_token = browser.fields(f"/orders/{order}")["page_token"]
    turn = 0
    begin.wait(timeout=120)
    until = time.monotonic() + seconds
    while not turn or time.monotonic() < until:
        turn, drawn, words = turn + 1, chance.random(), f"client {number} act {turn}"
        kind = "read" if drawn < READ else "save" if drawn < SAVE else "photo"
        began = time.monotonic()
        try:
            status = _ask(browser, kind, order, words, page_token, chance)
        except ConnectionError:
            status = 0
        heard.took[kind].append(time.monotonic() - began)
        heard.statuses[status] += 1
        if status == 303 and kind != "read":
            heard.acknowledged.append(words)


def _ask(browser: Browser, kind: str, order: int, words: str, page_token: str, chance: random.Random) -> int:
    if kind == "read":
        return browser.ask(chance.choice(["/", f"/orders/{order}", f"/orders/{order}/photos", "/search?q=meridian"]))[0]
    form = {"page_token": page_token, "once": secrets.token_hex(16)}
    if kind == "save":
        form |= {"material": Material.LEAD.value, "quantity": "1", "unit": "pieces", "container": words}
        return browser.ask(f"/orders/{order}/waste", form)[0]
    form |= {"place": "front", "phase": "as_found", "other_caption": words}
    return browser.ask(f"/orders/{order}/photos", {**form, "photos": picture(words).getvalue()})[0]


def _told(shop: Small, heard: list[Heard]) -> Mapping[str, int | float]:
    app = create_app(shop.config)
    with app.app_context():
        kept = Counter(session().scalars(sa.select(Waste.container))) + Counter(session().scalars(sa.select(Photo.caption)))
        troubles = verify().troubles
    let_go(app)
    said = [one for client in heard for one in client.acknowledged]
    statuses: Counter[int] = sum((client.statuses for client in heard), Counter())
    slow = {f"{kind} p95 s": round(_p95([one for client in heard for one in client.took[kind]]), 2)
            for kind in ("read", "save", "photo")}
    errors = sum(number for status, number in statuses.items() if status >= 500)
    return {"clients": len(heard), "requests": statuses.total(), "errors (500 and above)": errors,
            "no answer": statuses[0], "acknowledged": len(said), "lost": sum(kept[one] == 0 for one in said),
            "double": sum(kept[one] > 1 for one in said), "named by verify": len(troubles), **slow}


def _p95(seconds: list[float]) -> float:
    return sorted(seconds)[int(len(seconds) * 0.95)] if seconds else 0.0
