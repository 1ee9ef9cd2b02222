"""The wording packs. American terms are those of the trade; that "hot" is only a conductor's name, and a temperature else, is
from the National Electrical Code's habit of saying "ungrounded conductor" (from memory) and common practice, no source.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flask import Flask

from app.bench.sums.sections import SUMS
from app.db import transaction
from app.electrics import Valve, valve, valve_names
from app.electrics.valves.kinds import Source
from app.findings import usual
from app.findings.rules.alternatives import chosen, groups
from app.handover.rules import Measure
from app.intake.rules import Danger
from app.safety.regimes import SHIPPED
from app.shop.queries import the_shop
from app.shop.wording import Pack, swap
from tests.pages import PageClient

# What must never be said of metal or of the supply in an American shop, and what the British one says.
WRONG = re.compile(r"\bhot (?:part|strand|fault|metal|chassis)\b|\b(?:is|be|becomes?|stays?|are) hot (?:inside|although)"
                   r"|(?<!AC )\bline\b(?! (?:voltages?|frequency|cycles?|current))|\bmains\b|\bearth|\bvalve", re.IGNORECASE)


def test_text_in_valve_words_is_said_in_the_other() -> None:
    told = "Earth the chassis before the mains lead; the valve base of V5 and its anode sit at HT. Earthenware stays."
    assert swap(told, Pack.TUBE) == ("Ground the chassis before the power cord; the tube socket of V5 and its plate sit at B+. "
                                     "Earthenware stays.")
    assert swap(told, Pack.VALVE) == told


@pytest.mark.parametrize(("valve", "tube"), [
    ("bare live parts in reach", "bare live parts in reach"),
    ("chassis closed, no live part in reach", "chassis closed, no live part in reach"),
    ("A live strand touches the chassis", "A live strand touches the chassis"),
    ("the amp is live inside although it is switched off", "the amp is live inside although it is switched off"),
    ("500 V DC, live and neutral joined", "500 V DC, hot and neutral joined"),
    ("The live conductor goes through fuse and switch first", "The hot conductor goes through fuse and switch first"),
    ("HT or mains voltage reaches the chassis", "B+ or line voltage reaches the chassis"),
    ("Mains off and unplugged", "Power off and unplugged"),
    ("capacitor mains to chassis", "capacitor AC line to chassis"), ("bare mains joints", "bare AC line joints"),
    ("mains wire", "AC line wire"), ("mains inlet", "AC inlet"), ("Mains transformer", "Power transformer"),
    ("Mains frequency", "Line frequency"), ("Mains fuse", "AC line fuse"), ("Mains marking", "Nameplate rating"),
    ("the fuse beside the rating plate", "the fuse beside the nameplate"), ("its anode, a plate", "its plate, a plate"),
    ("earthed only by its nut", "grounded only by its nut"), ("jack socket", "jack"), ("front panel", "faceplate"),
    ("toothed washer and locking nut", "star washer and lock nut"), ("grub screw", "set screw"), ("reservoir", "first "
                                                                                                               "filter capacitor"),
    ("energise; labour, licence, fibre, grey, jewellery, mould, metres", "energize; labor, license, fiber, gray, jewelry, "
                                                                         "mold, meters"),
    ("a further quote; voltage variation; a variation", "a further estimate; voltage variation; a change order"),
    ("M-O Valve data sheet", "M-O Valve data sheet"),
])
def test_each_phrase_of_the_tube_pack(valve: str, tube: str) -> None:
    assert swap(valve, Pack.TUBE) == tube and swap(valve, Pack.VALVE) == valve


def _ready() -> list[str]:
    """Every ready word of the safety-bearing lists: catalogue, dangers, measures, steps of the safety tests, calculations."""
    told = [text for one in usual.shipped() for text in (
        chosen(one.observation, groups(one.observation)), one.short, one.cause, one.hazard, one.disposition_words, one.check_words,
        one.area.value)]
    told += [one.value for kind in (Danger, Measure) for one in kind]
    told += [text for regime in SHIPPED for step in regime.steps for text in (step.title, step.question, step.condition)]
    for one in SUMS.values():
        told += [one.title, one.lead, one.formula, one.caution,
                 *(text for field in one.fields for text in (field.label, field.hint))]
    return told


@pytest.mark.parametrize("text", _ready())
def test_no_ready_word_says_hot_for_live_or_a_bare_line_in_the_tube_pack(text: str) -> None:
    assert not WRONG.search(swap(text, Pack.TUBE)), swap(text, Pack.TUBE)


def test_pages_follow_the_shop(app: Flask, owner: PageClient, technician: PageClient) -> None:
    owner.post("/shop", {"wording": "tube"})
    assert "tube, ground, AC line, B+" in owner.get("/shop").words


def test_the_name_of_a_cited_document_passes_no_filter() -> None:
    """A maker's name that holds the word valve is a name; so is the title of a standard."""
    cited = re.compile(r"\{\{[^}]*(?:source|sources|edition|rule_source|limit_source)(?:\.text)?\s*\|\s*trade\b")
    found = [f"{path.name}: {hit.group()}" for path in sorted(Path("templates").rglob("*.html"))
             for hit in cited.finditer(path.read_text())]
    assert found == []
    assert all(swap(one.text, Pack.TUBE) == one.text for one in _named_sources()), "a protected name is missing from TUBE_PHRASES"


def _named_sources() -> list[Source]:
    """The sources of the data sheets: titles, which stay what they are even where a sentence holds one."""
    return [entry.ratings.source for entry in map(valve, valve_names()) if isinstance(entry, Valve) and entry.ratings]


def test_words_written_in_a_template_follow_the_pack_of_the_day(app: Flask) -> None:
    """Jinja works a filter out once, when it compiles a page, where all that it is given stands in the page itself."""
    with app.test_request_context():
        page = app.jinja_env.from_string("{{ 'mains inlet' | trade }}")  # as pages are: at their first request
        assert page.render() == "mains inlet"
    with app.app_context(), transaction():
        the_shop().wording = Pack.TUBE
    with app.test_request_context():
        assert page.render() == "AC inlet"
