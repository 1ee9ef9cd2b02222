"""The button of what is needed next names the act: a verb and its object, never “do this”."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flask import Flask

from app.db import transaction
from app.gates import ACTS
from app.handover import rules as handover
from app.intake import rules as intake
from tests import factories
from tests.pages import PageClient

APP = Path(__file__).resolve().parents[2] / "app"


@pytest.fixture
def engine_name() -> str:
    """The words are the same on either engine."""
    return "sqlite"


def parts(module: object) -> set[str]:
    """The sheets that a room's rules can find something missing on."""
    text = Path(str(module.__file__)).read_text(encoding="utf-8")  # type: ignore[attr-defined]
    return set(re.findall(r'Lack\((?:[^"]|"(?:[^"\\]|\\.)*"(?!\)))*?"([a-z_]+)"\)', text))


def test_every_page_to_which_a_gate_points_has_its_act(app: Flask) -> None:
    def endpoints(file: str) -> set[str]:
        return {one for path in APP.glob(file) for one in re.findall(r'"([a-z_]+\.[a-z_]+)"', path.read_text(encoding="utf-8"))}

    named = endpoints("*/gate.py")
    named |= {f"intake.{one}" for one in parts(intake)} | {f"handover.{one}" for one in parts(handover)}
    assert {"intake.people", "intake.terms", "handover.sign", "handover.accessories", "safety.soak"} <= named
    assert named <= ACTS.keys() <= named | endpoints("*/due.py")  # what is due today has its act, too
    assert ACTS.keys() <= app.view_functions.keys()


def test_an_act_is_a_verb_and_its_object() -> None:
    assert [act for act in ACTS.values() if not re.fullmatch(r"[A-Z][a-z]+( [\w“”-]+)+", act)] == []


def test_the_button_on_the_order_s_page_names_it(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    links = [link for link in counter.get(f"/orders/{order_id}").all("a") if "btn-main" in link.get("class", "").split()]
    assert ["".join(link.itertext()).strip() for link in links] == ["Record the complaint"]
