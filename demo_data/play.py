"""Plays the demo: makes the data folder, opens the shop, and tells every story up to where it stands today."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from flask import Flask

from app import clock, config, create_app
from app.commands.upgrading import brought_up_to_date
from app.db import session, transaction
from app.documents import pdf
from app.documents.rules import Kind
from app.handover import queries as handing
from app.handover.notices import for_jurisdiction
from app.handover.rules import Fate, Sent
from app.handover.service import come_back as come_back_service
from app.handover.service import uncollected as uncollected_service
from app.intake.come_back_rules import Judgement, Payer, Verdict
from app.intake.service import come_back as judging
from app.measuring.rules import Phase
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.quote import queries as quotes
from app.shop.queries import the_shop
from demo_data import bench, calls, circuit, commissioning, counter, diagram, hours, letterhead, recordings, sheets
from demo_data.darkroom import Plate, developing
from demo_data.setting import Bench, equip, open_up
from demo_data.stories import STORIES
from demo_data.story import Picture, Story

WEEKS = 11


def make_shop(data: Path, sign_ins: Path) -> None:
    """Everything, all or nothing: the sign-ins are written last, and without them the folder is no demo shop."""
    began = time.monotonic()
    found = config.load(data)
    with brought_up_to_date(found):
        app = create_app(found)
    wanted = (picture for story in STORIES for picture in (*story.outside, *story.inside, *story.left))
    with developing(wanted) as plates:
        passwords = _play(app, plates)
    pdf.shared.close()  # it would wait beside the server for papers that are never asked of this process again
    _write(sign_ins, passwords)
    _say(f"the demo shop is ready ({time.monotonic() - began:.0f} s)")


def _play(app: Flask, plates: Callable[[Picture], Plate]) -> dict[str, str]:
    """The shop from its first day to this one; everybody's password by name."""
    now = clock.now()
    with contextlib.closing(app.extensions["tagstrip_db"]), app.test_request_context():
        with transaction():
            crew, passwords = open_up(now - timedelta(weeks=WEEKS))
            instruments = equip(crew, now - timedelta(weeks=WEEKS), now.date())
            letterhead.hang_up(crew.owner, now - timedelta(weeks=WEEKS))
        _say("drawing the photographs and telling the stories")
        told = {}
        for story in STORIES:
            told[story.until] = tell(story, counter.Stage(crew, plates, morning(now, story.days_ago)), instruments)
            _say(f"{story.what.maker} {story.what.model}")
        with transaction():
            hours.running(session().get_one(RepairOrder, told[Stage.PARTS]), crew.bench)
            counter.tidy_up(session().get_one(RepairOrder, told[Stage.PARTS]), crew, now - timedelta(days=8))
            before, after = now - timedelta(days=2), now - timedelta(hours=2)
            recordings.keep(session().get_one(RepairOrder, told[Stage.SAFETY_TEST]), crew.bench, before, after)
            commissioning.commission(session().get_one(RepairOrder, told[Stage.SAFETY_TEST]), crew.bench, instruments,
                                     now - timedelta(days=1))
            diagram.keep(session().get_one(RepairOrder, told[Stage.REASSEMBLY]).amp, crew.bench, now - timedelta(days=9))
            calls.keep(session().get_one(RepairOrder, told[Stage.QUOTE]), session().get_one(RepairOrder, told[Stage.PARTS]),
                       crew.counter, crew.owner, now)
    return passwords


def tell(story: Story, stage: counter.Stage, instruments: Bench) -> int:
    """One repair order, from the counter to where it stands today; its id. One transaction up to each paper, which is made
    between two."""
    with transaction():
        order_id = counter.check_in(story, stage).id
    for kind, scenes in _acts(_scenes(story, stage, instruments)):
        made = counter.make_paper(session().get_one(RepairOrder, order_id), kind, stage.now) if kind else None
        with transaction() as kept:
            if made:
                counter.give_paper(kept.get_one(RepairOrder, order_id), made, stage)
            for scene in scenes:
                scene(kept.get_one(RepairOrder, order_id))
                kept.flush()
                kept.expire_all()  # each scene finds what the one before it left, as if a page had been opened
    return order_id


Scene = Callable[[RepairOrder], object]


def _acts(scenes: list[Scene | Kind]) -> Iterator[tuple[Kind | None, list[Scene]]]:
    """What is played in one go, each with the paper that it begins with."""
    kind: Kind | None = None
    act: list[Scene] = []
    for scene in scenes:
        if isinstance(scene, Kind):
            yield kind, act
            kind, act = scene, []
        else:
            act.append(scene)
    yield kind, act


def _scenes(story: Story, stage: counter.Stage, instruments: Bench) -> list[Scene | Kind]:
    """What happens, in order, until the story stops."""
    until = IN_ORDER.index(story.until) if isinstance(story.until, Stage) else len(IN_ORDER)
    if story.until == "unrepaired":
        until = IN_ORDER.index(Stage.QUOTE)

    def move(order: RepairOrder) -> None:
        hours.called(order, stage)
        orders.move_on(order, by=stage.crew.counter, now=stage.later(minutes=3))

    chapters = (_intake, _teardown, _quote, _parts, _reassembly, _safety, _return)
    scenes: list[Scene | Kind] = []
    for number, chapter in enumerate(chapters[: until + 1]):
        whole = number < until
        scenes += chapter(story, stage, instruments, whole)
        if whole and number < len(chapters) - 1:
            scenes.append(move)
    return [*scenes, *_ending(story, stage)]


def _intake(story: Story, stage: counter.Stage, _instruments: Bench, whole: bool) -> list[Scene | Kind]:
    if not whole and story.stop == "just in":
        return []
    return [lambda order: counter.finish_intake(order, story, stage), Kind.RECEIPT]


def _teardown(story: Story, stage: counter.Stage, instruments: Bench, whole: bool) -> list[Scene | Kind]:
    def strip(order: RepairOrder) -> None:
        bench.make_safe(order, story, stage)
        if not whole:
            hours.forgotten(order, stage)
        hours.strip_down(order, stage, whole=whole)
        shown = counter.show_pictures(order, story.inside, stage)
        found = bench.find(order, story, shown, stage)
        if whole or story.stop == "decided":
            bench.decide(found, story, stage)
        else:
            bench.decide(found[:1], _first(story), stage)
        bench.take_off(order, story, stage)
        sheets.read_board(order, story, shown, stage)
        sheets.explain_loose(order, story, stage)
        sheets.log_waste(order, story, stage)

    scenes: list[Scene | Kind] = []
    if whole and story.until in ("repaired", Stage.SAFETY_TEST, Stage.RETURN):
        scenes.append(lambda order: bench.read_points(order, instruments, stage, Phase.AS_FOUND))
    if story.circuit:
        scenes.append(lambda order: circuit.read(order, instruments, stage))
    if whole or story.stop != "untouched":
        scenes.append(strip)
    return scenes


def _quote(story: Story, stage: counter.Stage, _instruments: Bench, whole: bool) -> list[Scene | Kind]:
    scenes: list[Scene | Kind] = []
    if whole or story.stop != "no quote yet":
        scenes.append(lambda order: bench.quote(order, story, stage))
        scenes.append(Kind.ESTIMATE)
    if whole:
        scenes.append(lambda order: bench.authorise(order, story, stage))
    return scenes


def _parts(story: Story, stage: counter.Stage, _instruments: Bench, whole: bool) -> list[Scene | Kind]:
    return [
        lambda order: bench.need_parts(order, story, stage),
        lambda order: bench.receive_parts(order, stage, leave=0 if whole else 1),
    ]


def _reassembly(story: Story, stage: counter.Stage, instruments: Bench, whole: bool) -> list[Scene | Kind]:
    return [
        lambda order: hours.items(order, stage, leave=0 if whole else 1),
        lambda order: bench.mend(order, stage),
        lambda order: bench.fit_new(order, story, stage),
        lambda order: hours.way_back(order, stage, 0.4) if whole else hours.near_the_limit(order, stage),
        lambda order: bench.put_back(order, instruments, stage, leave=0 if whole else 14),
    ]


def _safety(story: Story, stage: counter.Stage, instruments: Bench, whole: bool) -> list[Scene | Kind]:
    scenes: list[Scene | Kind] = [
        lambda order: bench.read_points(order, instruments, stage, Phase.AS_LEFT),
        lambda order: bench.prove(order, story, stage),
    ]
    if story.stop == "test failed":
        scenes.append(lambda order: bench.test_safety(order, instruments, stage, bond="0.41"))
    elif whole:
        scenes += [
            lambda order: bench.test_safety(order, instruments, stage),
            lambda order: bench.soak(order, stage),
            lambda order: counter.show_pictures(order, story.left, stage),
        ]
    return scenes


def _return(story: Story, stage: counter.Stage, _instruments: Bench, whole: bool) -> list[Scene | Kind]:
    if story.until == "uncollected" or not whole:
        return []
    return [
        lambda order: counter.settle(order, stage),
        lambda order: counter.sign_for_it(order, stage),
        Kind.REPORT,
        lambda order: counter.release(order, stage),
    ]


def _ending(story: Story, stage: counter.Stage) -> list[Scene | Kind]:
    if story.until == "unrepaired":
        return [
            lambda order: counter.prepare_unrepaired(order, stage),
            Kind.UNREPAIRED,
            lambda order: counter.leave_unrepaired(order, stage),
        ]
    if story.until == "uncollected":
        return [
            lambda order: _write_to(order, story, stage),
            lambda order: _dispose_of(order, stage),
            lambda order: uncollected_service.end_uncollected(order, by=stage.crew.owner, now=stage.later(minutes=2)),
        ]
    if story.comes_back:
        return [lambda order: _comes_back(order, story, stage)]
    return []


def _comes_back(order: RepairOrder, story: Story, stage: counter.Stage) -> None:
    """It is in again; the bench compares with what it left, and judges."""
    again = come_back_service.come_back(order, story.comes_back, None, the_shop(), by=stage.crew.counter, now=stage.later(days=18))
    session().flush()
    judged = Judgement(Verdict.USER_OR_SYSTEM, Payer.SHOP, True,
                       "The crackle follows the customer’s own lead and stays away with ours; all points read as they left.")
    judging.judge(again, judged, by=stage.crew.bench, now=stage.later(minutes=25))


def _write_to(order: RepairOrder, story: Story, stage: counter.Stage) -> None:
    """Ready, telephoned, written to, and nobody came."""
    rules = for_jurisdiction(the_shop().jurisdiction)
    sent = stage.later(days=12).date()
    due = quotes.authorised_sum(order) or 0
    letter = uncollected_service.Letter(
        story.who.name,
        story.who.address,
        sent,
        Sent.RECORDED,
        handing.ready_on(order) or sent,
        "12 Ropewalk, Saltbridge, weekdays 10 to 5",
        due_minor=due,
        due_for="the repair as agreed, in the quote that stands",
        proof="RP 0093 441",
    )
    uncollected_service.send_notice(order, letter, rules, rules.for_worth(600), today=sent, by=stage.crew.counter, now=stage.now)


def _dispose_of(order: RepairOrder, stage: counter.Stage) -> None:
    """The notice period is over. A person looks the law up, decides, and says how."""
    uncollected_service.dispose(
        order,
        Fate.KEPT,
        "Stored and insured; nothing was sold. The owner may still come for it.",
        "Uncollected goods law of the state, read again on the day",
        kept_until=stage.later(days=16).date() + timedelta(days=7 * 365),
        by=stage.crew.owner,
        now=stage.now,
    )


def _first(story: Story) -> Story:

    return replace(story, found=story.found[:1])


def morning(now: datetime, days_ago: int) -> datetime:
    """When the story of so many days ago begins."""
    return (now - timedelta(days=days_ago)).replace(hour=0, minute=5, second=0, microsecond=0)


def _write(sign_ins: Path, passwords: dict[str, str]) -> None:
    roles = {"Juno": "counter", "Anselm": "technician", "Brae": "technician", "Odile": "owner"}
    lines = [
        "Demo sign-ins (invented, for this folder only):",
        *(f"  {name:<8} {roles[name]:<11} {password}" for name, password in passwords.items()),
    ]
    part = sign_ins.with_suffix(".part")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write("\n".join(lines) + "\n")
    part.rename(sign_ins)


def _say(words: str) -> None:
    print(f"  {words}", file=sys.stderr, flush=True)
