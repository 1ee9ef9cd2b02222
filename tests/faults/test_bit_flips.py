from __future__ import annotations

from pathlib import Path

import pytest
from flask import Flask

from app.db import database, transaction
from tests import factories
from tests.faults import bit_flips


@pytest.fixture
def shop(context: Flask) -> Path:
    """A small shop in a file, with nobody connected."""
    for number in range(3):
        with transaction():
            factories.order(amp=factories.amp(model=f"Meridian {number}"))
    database().close()
    return Path(context.config["DATA"])


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_every_flipped_bit_that_changes_a_record_is_named_in_words(shop: Path) -> None:
    said: list[str] = []
    found = bit_flips.told(shop, 40, 7, said.append)
    assert said == [] and found["named"] >= 5, found


@pytest.mark.parametrize("engine_name", ["sqlite"])
def test_a_row_that_was_changed_in_place_is_a_change_of_content(shop: Path) -> None:
    """The measure itself: a changed letter is seen as one, and `verify` is asked whatever it says."""
    before = bit_flips.content(shop / "tagstrip.db")
    assert before is not None
    whole = (shop / "tagstrip.db").read_bytes()
    assert b"Meridian 1" in whole
    (shop / "tagstrip.db").write_bytes(whole.replace(b"Meridian 1", b"Meridian 7"))
    assert bit_flips.outcome(shop, before) == "named"
    (shop / "tagstrip.db").write_bytes(whole)
    assert bit_flips.outcome(shop, before) == "no content"
