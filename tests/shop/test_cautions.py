"""Cautions near the hand: each place has its own, each has a source, a mark and a day, and the pages show them."""

from __future__ import annotations

import re

import pytest
from flask import Flask

from app.db import transaction
from app.shop.cautions import MARKS, PLACES, cautions_at, shipped
from tests.findings.make import order_at
from tests.pages import PageClient

WANTED = {  # what the trade warns of at each place of work (common practice, no source)
    "intake": {"lifting"}, "finding": {"pcb", "fibre-board"}, "removal": {"pcb", "radioactive", "cadmium", "glass", "heavy"},
    "act": {"rags", "spray", "fume", "fibre-board"}, "prove": {"spray", "first-power", "open-cover"},
    "parts": {"pcb", "radioactive"}, "step": {"fume", "glass", "heavy"}, "power": {"first-power", "open-cover", "lamp"},
    "soak": {"first-power", "open-cover"}, "waste": {"rags", "pcb", "radioactive"},
}


@pytest.mark.parametrize("place", PLACES)
def test_each_place_has_what_can_hurt_there(place: str) -> None:
    assert WANTED[place] <= {one.key for one in cautions_at(place)}


def test_each_has_one_line_more_behind_it_and_where_it_comes_from() -> None:
    assert len({one.key for one in shipped()}) == len(shipped())
    for one in shipped():
        assert one.line.endswith(".") and len(one.line) <= 110, one.key
        assert len(one.more) > len(one.line) and one.source and one.mark in MARKS and set(one.at) <= set(PLACES), one.key
        assert (one.mark == "P") == (one.source == "common practice, no source"), one.key


@pytest.mark.parametrize("place", PLACES)
def test_no_place_shows_what_cannot_happen_there(place: str) -> None:
    """A caution that stands everywhere is read nowhere. As the file places them (common practice, no source)."""
    away = {"intake": {"rags", "spray", "first-power"}, "finding": {"rags", "glass"}, "removal": {"rags", "lamp"}, "act": {"heavy"},
            "prove": {"rags", "heavy"}, "parts": {"rags", "lamp"}, "step": {"rags", "lamp"}, "power": {"rags", "pcb"},
            "soak": {"rags", "pcb"}, "waste": {"first-power", "lamp"}}
    shown = {one.key for one in cautions_at(place)}
    assert not away[place] & shown and shown < {one.key for one in shipped()}


def test_a_place_that_is_none_is_refused() -> None:
    with pytest.raises(KeyError):
        cautions_at("kitchen")


def test_board_and_capacitors_say_the_rule_of_the_country() -> None:
    by_key = {one.key: one for one in shipped()}
    for key in ("fibre-board", "pcb"):
        assert {"AU", "GB", "US"} <= by_key[key].by_country.keys()
        assert by_key[key].law_in(None) == by_key[key].law_in("XX") == ""


def test_the_pages_show_the_cautions_of_their_place(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = order_at().id
    for path, place in ((f"/orders/{order}/findings/new", "finding"), (f"/orders/{order}/removals/new", "removal"),
                        (f"/orders/{order}/parts", "parts"), (f"/orders/{order}/power-up", "power")):
        page = technician.get(path)
        (shown,) = [one for one in page.all("details") if one.get("data-cautions")]
        assert shown.get("data-cautions") == " ".join(one.key for one in cautions_at(place))
        assert all(re.sub(r"\s+", " ", one.line)[:20] in page.words for one in cautions_at(place))
