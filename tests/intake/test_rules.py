"""What the counter must have, how things are found, what a signature is, and the terms as data."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from app.intake import terms
from app.intake.rules import (
    ACCESSORIES,
    Danger,
    Facts,
    Looked,
    Zone,
    accessory_list,
    is_signature,
    missing_items,
    open_zones,
    views_asked,
    zone_after,
)
from tests.intake.make import PEN

COMPLETE = Facts(reachable=True, maker="Tarnholt", model="Meridian 30", serial="none found", mains_marking="230 V",
                 class_known=True, complaint="it hums", views=6, serial_shown=True, counted=True, looked=True, signed=True,
                 agreed=True, signed_fee_minor=8500, fee_minor=8500)


def test_complete_intake_lacks_nothing() -> None:
    assert missing_items(COMPLETE) == ()


# What must hold before an amp leaves the counter: common practice, no source.
@pytest.mark.parametrize(("without", "part", "words"), [
    ({"reachable": False}, "people", "phone, e-mail or address"),
    ({"complaint": "  "}, "complaint", "own words"),
    ({"maker": ""}, "amp", "Identify the amp: maker."),
    ({"model": " "}, "amp", "Identify the amp: model."),
    ({"serial": ""}, "amp", "Identify the amp: serial, or none found."),
    ({"mains_marking": ""}, "amp", "Identify the amp: mains marking."),
    ({"class_known": False}, "amp", "Identify the amp: class I or II."),
    ({"serial": "", "class_known": False}, "amp", "Identify the amp: serial, or none found and class I or II."),
    ({"views": 0}, "condition", "Photograph the amp as it came in: 0 of 6 views are there."),
    ({"views": 5, "serial_shown": False}, "condition", "and its serial plate: 5 of 6 views are there."),
    ({"serial_shown": False}, "condition", "Photograph the serial plate."),
    ({"least_views": 8}, "condition", "6 of 8 views"),
    ({"agreed": False}, "money", "agreed by the person who may approve cost"),
    ({"counted": False}, "accessories", "Count the accessories."),
    ({"looked": False}, "look", "obvious danger"),
    ({"signed": False}, "terms", "Have the terms signed."),
    ({"fee_minor": 9500}, "terms", "signed again: the diagnosis fee was raised"),
])
def test_each_missing_thing_is_named_with_its_sheet(without: dict[str, Any], part: str, words: str) -> None:
    (lack,) = missing_items(replace(COMPLETE, **without))
    assert lack.part == part and words in lack.text


def test_everything_missing_is_told_at_once() -> None:
    nothing = Facts(False, "", "", "", "", False, "", 0, False, False, False, False, False)
    assert " ".join(lack.part for lack in missing_items(nothing)) == "people complaint amp condition accessories look terms"


def test_views_and_cost_limit_are_asked_at_the_counter_only() -> None:
    """An amp that was stripped down already cannot be photographed as it came in any more; one photo was asked of it then."""
    further = replace(COMPLETE, at_counter=False, views=1, serial_shown=False, agreed=False)
    assert missing_items(further) == ()
    assert [one.part for one in missing_items(replace(further, views=0))] == ["condition"]


def test_an_amp_without_any_marking_has_no_plate_to_show() -> None:
    assert missing_items(replace(COMPLETE, serial_shown=False, mains_marking="none found")) == ()


def test_save_and_next_leads_to_the_views_that_are_still_open() -> None:
    """Six views and the plate: common practice, no source."""
    assert open_zones({}, 6) == views_asked(6) and len(views_asked(6)) == 7 and views_asked(6)[-1] is Zone.SERIAL
    assert zone_after(Zone.FRONT, {Zone.TOP: 1}, 6) is Zone.LEFT
    six = [zone for zone in Zone if zone is not Zone.SERIAL][4:10]  # any six views will do
    assert open_zones(six, 6) == (Zone.SERIAL,) and zone_after(six[0], six, 6) is Zone.SERIAL
    assert open_zones([*six, Zone.SERIAL], 6) == ()


def test_the_shops_list_of_accessories_is_read_as_it_is_typed() -> None:
    assert accessory_list("footswitch, cover\n  gig   bag ,cover,\n") == ("footswitch", "cover", "gig bag")
    assert accessory_list(" \n,") == ACCESSORIES


def test_a_lower_fee_needs_no_new_signature() -> None:
    assert missing_items(replace(COMPLETE, fee_minor=0)) == ()


@pytest.mark.parametrize(("path", "good"), [
    (PEN, True), ("M1 1L2 2", False), ("", False), ("M40 120L40 120L40 120L40 120L40 120L40 120", False),
    (PEN + "L700 10", False), (PEN + "L10 300", False), (PEN + "\"/><script>", False), ("M0 0" + "L1 1" * 7000, False),
    (PEN + "M300 40.5L310 60", True),
])
def test_signature_is_a_pens_path_within_its_field(path: str, good: bool) -> None:
    assert is_signature(path) is good


def test_seen_dangers_make_the_reason_of_the_quarantine() -> None:
    assert Looked().quarantine_reason == ""
    assert Looked((Danger.LIQUID,), " wasps ").quarantine_reason == "liquid or damp inside; wasps"


def test_the_zones_lead_once_round_the_amp() -> None:
    seen = [Zone.FRONT]
    while (following := zone_after(seen[-1], list(Zone))) is not Zone.FRONT:
        seen.append(following)
    assert set(seen) == set(Zone) and len(seen) == len(Zone)


def test_every_set_of_terms_is_dated_sourced_and_cautions_the_shop() -> None:
    assert set(terms.known()) >= {"au-nsw", "uk-england", "us-ca", "eu", "plain"}
    for one in terms.known().values():
        assert one.checked >= date(2026, 1, 1) and one.title and one.paragraphs
        assert "check" in one.caution.lower() or "ask" in one.caution.lower()
        assert all(p.head and p.text and p.source for p in one.paragraphs)
        assert {p.read for p in one.paragraphs} <= {"seen", "secondary", "from memory", "common practice"}
    assert terms.for_jurisdiction("AU-NSW ").id == "au-nsw" and terms.for_jurisdiction("moon").id == "plain"


def test_nsw_terms_hold_the_bands_of_the_act() -> None:
    # Uncollected Goods Act 1995 (NSW) ss 20 and 21 as amended in 2018: under $1,000 14 days, to under $20,000 28 days.
    text = next(p.text for p in terms.known()["au-nsw"].paragraphs if "not collected" in p.head)
    assert all(words in text for words in ("less than $1,000", "14 days", "$20,000", "28 days"))


def test_california_prints_the_statement_the_regulation_lays_down() -> None:
    # 16 CCR 2721(g), read in a copy of the official code.
    prescribed = [p.text for p in terms.known()["us-ca"].paragraphs if p.prescribed]
    assert len(prescribed) == 1 and "may not charge for work done or parts supplied in excess" in prescribed[0]


def test_text_to_sign_names_set_date_fee_and_ceiling() -> None:
    text = terms.text_to_sign(terms.known()["uk-england"], shop="Lowgate", amp="Finch Twelve", fee="GBP 40.00",
                              fee_credited=False, ceiling="GBP 60.00", day="2 Mar 2026")
    assert "England and Wales, checked on 26 November 2026" in text and "GBP 40.00" in text and "GBP 60.00" in text
    assert "counts towards" not in text
