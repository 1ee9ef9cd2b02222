"""kill -9 while somebody saves: what was acknowledged is there once, the rest is whole or absent.

Each round a child of this process saves as fast as it goes, photos and waste in turn, and says each answer 303 through a pipe; at
a random moment it is killed. A child begins warm: a thousand rounds take minutes. What a whole server does when it is killed is
in `tests/faults/test_killed.py`.
"""

from __future__ import annotations

import io
import os
import random
import secrets
import signal
import time
from collections import Counter

import sqlalchemy as sa
from flask import Flask
from PIL import Image

from app import create_app
from app.backup.verify import verify
from app.db import session
from app.findings.models.waste import Waste
from app.findings.rules.waste import Material
from app.kernel.tokens import SIGN_IN_COOKIE
from app.photos.models import Photo
from tests.long_check.shops import Small, let_go
from tests.pages import PageClient

LONGEST = 0.12  # s that a child may live after its first answer
PATIENCE = 60.0


def run(shop: Small, rounds: int, *, seed: int = 20260302) -> dict[str, int]:
    """So many kills: rounds, what was acknowledged, what of it is lost or double, what `verify` says besides."""
    app = create_app(shop.config)
    chance = random.Random(seed)
    acknowledged: list[str] = []
    page_token = _warm(app, shop)
    for turn in range(rounds):
        let_go(app)
        acknowledged += _round(app, shop, turn, chance, page_token)
    with app.app_context():
        kept = Counter(session().scalars(sa.select(Waste.container))) + Counter(session().scalars(sa.select(Photo.caption)))
        troubles = [one for one in verify().troubles if "belong to no record" not in one]
    let_go(app)
    return {"kills": rounds, "acknowledged": len(acknowledged), "lost": sum(kept[one] == 0 for one in acknowledged),
            "double": sum(kept[one] > 1 for one in acknowledged), "named by verify": len(troubles)}


def _warm(app: Flask, shop: Small) -> str:
    """Load what a save loads, so that each child has it; the token of a page of this sign-in."""
    client = PageClient(app)
    client.client.set_cookie(SIGN_IN_COOKIE, shop.tokens[0])
    token: str = client.token()["page_token"]
    assert _save(client, shop.orders[0], "before all", 0, token) == _save(client, shop.orders[0], "before all", 1, token) == 303
    return token


def _save(client: PageClient, order: int, words: str, number: int, page_token: str) -> int:
    """One photo, or one line of waste; the status of the answer."""
    form: dict[str, object] = {"page_token": page_token, "once": secrets.token_hex(16)}
    if number % 3:
        path = "waste"
        form |= {"material": Material.LEAD.value, "quantity": "1", "unit": "pieces", "container": words}
    else:
        path = "photos"
        form |= {"place": "front", "phase": "as_found", "other_caption": words, "photos": (picture(words), "photo.jpg")}
    return client.client.post(f"/orders/{order}/{path}", data=form).status_code


def _round(app: Flask, shop: Small, turn: int, chance: random.Random, page_token: str) -> list[str]:
    told, tell = os.pipe()
    child = os.fork()
    if not child:  # pragma: no cover - killed before it could say what it covered
        os.close(told)
        _save_until_killed(app, shop, turn, tell, page_token)
    os.close(tell)
    with os.fdopen(told, "rb") as answers:
        first = answers.readline()
        time.sleep(chance.random() * LONGEST)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        rest = answers.read().decode().split("\n")
    assert first, f"round {turn}: nothing was saved"
    return [first.decode().rstrip("\n"), *rest[:-1]]  # a line that was cut in two was not said whole


def _save_until_killed(app: Flask, shop: Small, turn: int, tell: int, page_token: str) -> None:  # pragma: no cover - see _round
    client = PageClient(app)
    client.client.set_cookie(SIGN_IN_COOKIE, shop.tokens[0])
    began, number, order = time.monotonic(), 0, shop.orders[turn % len(shop.orders)]
    while time.monotonic() - began < PATIENCE:
        words = f"round {turn} save {number}"
        if _save(client, order, words, number, page_token) == 303:
            os.write(tell, f"{words}\n".encode())
        number += 1
    os._exit(1)


def picture(words: str) -> io.BytesIO:
    """A small picture of its own: a shop refuses the same one twice."""
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (90, 90, 90)).save(out, "JPEG")
    return io.BytesIO(out.getvalue() + words.encode())
