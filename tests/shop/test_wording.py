from __future__ import annotations

from flask import Flask

from app.shop.wording import Pack, swap
from tests.pages import PageClient


def test_text_in_valve_words_is_said_in_the_other() -> None:
    told = "Earth the chassis before the mains lead; the valve base of V5 and its anode sit at HT. Earthenware stays."
    assert swap(told, Pack.TUBE) == ("Ground the chassis before the line cord; the tube socket of V5 and its plate sit at B+. "
                                     "Earthenware stays.")
    assert swap(told, Pack.VALVE) == told


def test_pages_follow_the_shop(app: Flask, owner: PageClient, technician: PageClient) -> None:
    owner.post("/shop", {"wording": "tube"})
    assert "tube, ground, line, B+" in owner.get("/shop").words
