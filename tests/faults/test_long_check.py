"""What `./tagstrip check` does, in small, and that it can fail."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.long_check import clients, kills
from tests.long_check.shops import Small, small

pytestmark = pytest.mark.fault


@pytest.fixture
def shop(blank_url: str, tmp_path: Path) -> Small:
    return small(tmp_path, blank_url, people=3, orders=2)


def test_kills_lose_nothing_and_the_measure_sees_a_loss(shop: Small, monkeypatch: pytest.MonkeyPatch) -> None:
    came = kills.run(shop, 3)
    assert came["acknowledged"] >= came["kills"] == 3
    assert came["lost"] == came["double"] == came["named by verify"] == 0
    monkeypatch.setattr(kills, "_round", lambda *_args: ["never saved"])
    assert kills.run(shop, 2)["lost"] == 2


def test_clients_lose_nothing(shop: Small) -> None:
    came = clients.run(shop, 2)
    assert came["clients"] == 3 and came["requests"] >= 3
    assert came["errors (500 and above)"] == came["no answer"] == came["lost"] == came["double"] == came["named by verify"] == 0
