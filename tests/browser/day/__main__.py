"""A day at the counter, played by three people in a real browser on a shop that is new in the morning; taps, keys, seconds by act.

By hand: `.venv/bin/python -m tests.browser.day [folder for pictures]`. Exit status 1 if any page errs. Some two minutes. The clock
of the shop is put forward where the day needs it: a soak run of two hours, a notice of fourteen days.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from flask import Flask

from app import clock, create_app, migrate
from app.contact import sender
from app.db import make_engine
from tests import served
from tests.browser.day import counter, ends, money, opening
from tests.browser.day.hand import Hand, at_device
from tests.conftest import configure
from tests.contact.mail import Post, authority, listening
from tests.journeys import story
from tests.journeys.hands import Wristwatch


def main() -> int:
    shots = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    if shots:
        shots.mkdir(parents=True, exist_ok=True)
    watch = Wristwatch()
    clock.now = watch.now
    with tempfile.TemporaryDirectory() as place:
        data = Path(place)
        files = authority(data)
        os.environ["SSL_CERT_FILE"] = str(files[0])  # what OpenSSL trusts
        url = f"sqlite:///{data / 'tagstrip.db'}"
        engine = make_engine(url)
        migrate.upgrade(engine)
        engine.dispose()
        app, post = create_app(configure(data, url)), Post()
        with listening(post, files) as port, served.served(app) as address, served.chromium() as browser:
            hands = {name: at_device(browser, address, name, size, shots)
                     for name, size in (("Mara", "tablet"), ("Ines", "tablet"), ("Tove", "desktop"))}
            fault = ""
            try:
                play(hands, data, watch, post, port, lambda: send_letters(app))
            except Exception as wrong:
                fault = f"{type(wrong).__name__}: {wrong}"[:1200]
            for hand in hands.values():
                table(hand)
        wrong = [*(one for hand in hands.values() for one in (*hand.answers, *hand.complaints) if "409" not in one),
                 *([fault] if fault else [])]
    print("\n".join(["", *wrong[:20]]) if wrong else "\nNo page erred.")
    return 1 if wrong else 0


def send_letters(app: Flask) -> None:
    """What the server does beside the pages: the outbox is worked off."""
    with app.app_context():
        sender.work_off(clock.now)


def play(hands: dict[str, Hand], data: Path, watch: Wristwatch, post: Post, port: int, send: Callable[[], object]) -> None:
    """The day from the first start to the last letter."""
    mara, ines, tove = hands["Mara"], hands["Ines"], hands["Tove"]
    opening.open_shop(tove, data)
    for hand, role in ((mara, "counter"), (ines, "technician")):
        opening.choose_password(hand, opening.hire(tove, hand.name, role))
    opening.enrol(tove, mara)
    opening.instruments(tove)
    opening.limits(tove)
    tove.goto("/")
    tove.picture("1-first-set-up")
    for hand in (mara, ines, tove):
        hand.sign_in_again = lambda hand=hand: opening.sign_in_again(hand)
        hand.sign_in_again()
    first = story.Shop(mara, ines, tove, watch, shots=story.photos())
    first.order = counter.check_in_three(mara)
    counter.agree_by_phone(mara, first.order, f"{clock.now().date() + timedelta(days=1)}")
    story.move_on(first, mara, "teardown")
    story.teardown(first)
    money.draw_up(first)
    money.answer(mara, first)
    story.move_on(first, mara, "parts")
    money.deposit(mara, first)
    for stage in (story.parts, story.reassembly, story.safety):
        stage(first)
    money.hand_out(mara, first)
    tove.sign_in_again()
    money.afterwards(mara, tove, first)
    second = story.Shop(mara, ines, tove, watch, shots=first.shots, order=ends.come_back(mara, ines, first))
    story.move_on(second, mara, "teardown")
    ends.unrepaired(mara, second)
    ends.void(mara)
    ends.merge(mara, "amps", "/amps/1", "M30")
    ends.merge(mara, "customers", "/customers/1", "Adler")
    third = story.Shop(mara, ines, tove, watch, shots=first.shots, order=counter.check_in_new(mara))
    story.move_on(third, mara, "teardown")
    for stage in (story.teardown, story.quote, story.parts, story.reassembly, story.safety):
        stage(third)
    tove.sign_in_again()
    ends.letter(mara, tove, third, post, port, send)
    ends.uncollected(mara, third)
    watch.ahead += timedelta(days=18)
    mara.sign_in_again()
    ends.overdue(mara)
    tove.sign_in_again()
    with tove.act("12 figures of the shop"):
        tove.goto("/shop")
        tove.link("Figures of the shop", exact=False)
    tove.picture("12-figures")


def table(hand: Hand) -> None:
    """What this person did, act by act: how often, and taps, keys, pages, seconds waited and seconds by hand of each at worst."""
    print(f"\n| {hand.name}: act | times | taps | keys | pages | waited | by hand |\n|---|---:|---:|---:|---:|---:|---:|")
    for name, acts in hand.acts.items():
        worst = max(acts, key=lambda one: one.by_hand_s)
        print(f"| {name} | {len(acts)} | {worst.taps} | {worst.keys} | {worst.pages} | {worst.waited_s:.1f} s "
              f"| {worst.by_hand_s:.0f} s |")


if __name__ == "__main__":
    sys.exit(main())
