"""The demo can be told from beginning to end, on blank pictures and papers: what the shop refuses, no story may do."""

from __future__ import annotations

import io
from collections import Counter

import sqlalchemy as sa
from PIL import Image

from app import config, create_app
from app.backup.verify import verify
from app.db import session
from app.findings.rules.life import Status
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.powerup import queries as power_up
from app.powerup.models import PowerUpRun
from demo_data.darkroom import developing
from demo_data.setting import passphrase
from demo_data.stories import STORIES
from tests.whole_shop import PICTURES, WholeShop


def test_every_story_is_told_and_everything_in_it_fits(whole_shop: WholeShop) -> None:
    told = whole_shop.told
    words = (told / "sign-ins.txt").read_text()
    assert [name for name in ("Juno", "Anselm", "Brae", "Odile") if name not in words] == []
    assert whole_shop.left_running is None  # the process that made its papers ended with the telling
    app = create_app(config.load(told))
    with app.test_request_context():
        stands = Counter((one.stage, one.ended_at is None) for one in session().scalars(sa.select(RepairOrder)))
        found = verify()
        run = session().scalars(sa.select(PowerUpRun)).one()
        at_bias = power_up.where(run.id).states[7]
        (halted,) = run.aborts
        assert halted.step == 7 and halted.resumed_at and halted.finding.status is Status.PROVED  # the planted hot valve, found
        assert at_bias.is_done and "bias" in {item.key for item, _ in at_bias.items}
    app.extensions["tagstrip_db"].close()
    void = 1  # an amp that was checked in twice
    assert sum(stands.values()) == len(STORIES) + sum(bool(one.comes_back) for one in STORIES) + void
    assert {stage for stage, is_open in stands if is_open} == set(Stage)  # something stands everywhere
    assert found.troubles == ()


def test_pictures_are_drawn_by_other_processes_each_once() -> None:
    wanted = PICTURES[:2]
    with developing([*wanted, *wanted]) as plates:
        drawn = [plates(one) for one in wanted]
        assert [plates(one) for one in wanted] == drawn
    for data, places in drawn:
        with Image.open(io.BytesIO(data)) as opened:
            assert opened.format == "JPEG" and min(opened.size) > 1000
        assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in places.values())


def test_no_word_comes_twice_in_a_passphrase() -> None:
    """One such as "russet yarrow russet yarrow" is refused as easy to guess, and the demo would not start."""
    assert all(len(set(passphrase().split())) == 4 for _ in range(200))
