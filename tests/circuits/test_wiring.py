"""What of a sheet is not known yet, and for want of what."""

from __future__ import annotations

import pytest

from app.circuits.rules.blocks import FIELDS, Kind
from app.circuits.rules.wiring import tree_of, unknown, wants
from app.circuits.rules.work import work
from tests.circuits import make

WHOLE = make.sheet()


@pytest.mark.parametrize("rows", [make.PUSH_PULL, make.CATHODE_BIASED, make.PENTODE_INPUT])
def test_a_whole_sheet_lacks_nothing(rows: tuple) -> None:  # type: ignore[type-arg]
    assert unknown(make.sheet(rows)) == {}


def test_supply_volts_are_not_known_until_the_sheet_is_said_to_be_whole() -> None:
    found = unknown(make.sheet(whole=False))
    assert {"HT1", "HT2", "HT3", "HT4", "V1a", "V3", "V4 V5"} <= found.keys() and "bias" not in found
    assert "everything that draws from the supply" in found["HT1"][0]
    assert not [one for one in work(make.sheet(whole=False), None).expected if one.node.name.startswith("HT")]


@pytest.mark.parametrize(("block", "field"), [("V1a", "anode_ohm"), ("V4 V5", "winding_ohm"), ("V3", "tail_ohm"),
                                             ("bias", "set_v"), ("HT winding", "ohm"), ("feedback", "shunt_ohm")])
def test_one_missing_load_makes_every_supply_volt_unknown_and_says_which(block: str, field: str) -> None:
    here = make.without(WHOLE, block, field)
    found = unknown(here)
    assert any("is not entered" in why for why in found[block])
    assert {"HT1", "HT4", "V1b"} <= found.keys()
    worked = work(here, None)
    assert {one.node.block for one in worked.expected} <= {"heaters", "bias"}, "a number that follows from what is not known"


def test_a_known_supply_lets_a_stage_be_known_without_the_rest() -> None:
    rows = ((Kind.RAIL, "HT4", {"volt": 300}), make.PUSH_PULL[9])
    here = make.sheet(rows, whole=False)
    assert unknown(here) == {}
    anode = work(here, None).of("V1a anode")
    assert anode is not None and 190 < anode.now.value < 215


@pytest.mark.parametrize(("block", "field", "value", "words"), [
    ("V1a", "valve", "6L6GC", "valve 6L6GC"), ("V1a", "valve", "ZZ99", "valve ZZ99"), ("rectifier", "drop", "12AX7",
                                                                                       "is no rectifier"),
    ("V1a", "fed_by", "HT9", "there is no block called HT9"), ("V1a", "fed_by", "bias", "bias is a bias supply"),
    ("HT2", "fed_by", "HT4", "its feeds lead back to itself"), ("V2a", "coupling", "through a capacitor", "is not covered"),
    ("V3", "coupling", "directly", "is not covered")])
def test_what_cannot_be_is_said_of_the_block(block: str, field: str, value: str, words: str) -> None:
    here = make.changed(WHOLE, block, field, value)
    found = here.block(block)
    assert found is not None and words in "; ".join(wants(found, here))


def test_the_rails_of_one_supply() -> None:
    found = WHOLE.block("HT3")
    assert found is not None and tree_of(found, WHOLE) == {"HT1", "HT2", "HT3", "HT4"}


def test_every_field_says_its_unit_or_what_it_is() -> None:
    for kind, fields in FIELDS.items():
        for one in fields:
            sorts = [bool(one.unit), bool(one.choices), bool(one.kinds), bool(one.valve)]
            assert sum(sorts) == 1, (kind, one.name)
            assert not one.unit or one.low < one.high, (kind, one.name)
