"""Pieces, marks, typed lists and stack drawings, without a database. Rules: common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.removals.drawing import draw, shape_of
from app.removals.marks import next_mark
from app.removals.rules import FASTENERS, STACK_PIECES, Kind, WireEnd, read_counts, read_ends, say_counts, why_not_tagged
from app.removals.spaces import CAVITIES, usual_cavity
from app.removals.stacks import Stack, loose_pieces, read_stack, read_stacks, unambiguous_names


@pytest.mark.parametrize(("mark", "taken", "following"), [
    ("P1", ["P1"], "P2"), ("P1", ["P1", "p2"], "P3"), ("J9", [], "J10"), ("FAS", ["FAS"], "FAS2"), ("V5-3", [], "V5-4"),
])
def test_the_next_mark_is_the_next_one_free(mark: str, taken: list[str], following: str) -> None:
    assert next_mark(mark, taken) == following


def test_wire_ends_are_read_with_pin_colour_and_how_they_were_lifted() -> None:
    ends = read_ends("3 brown\nV6:3 red cut\n8")
    assert ends == (WireEnd("3", "", "brown"), WireEnd("3", "V6", "red", "cut"), WireEnd("8"))
    assert read_ends("\n".join(end.text for end in ends)) == ends
    with pytest.raises(BadInput, match="names no pin"):
        read_ends("V6: red")


def test_what_an_end_carries_is_read_in_either_words_and_is_no_colour() -> None:
    ends = read_ends("1 brown mains\nTB:7 red ht hidden\nES:ring green/yellow bond unscrewed\n2 white AC line cut\n3 red B+")
    assert [(end.pin, end.colour, end.carries) for end in ends] == [
        ("1", "brown", "mains"), ("7", "red", "HT"), ("ring", "green/yellow", "bond"), ("2", "white", "mains"), ("3", "red", "HT")]
    assert read_ends("\n".join(end.text for end in ends)) == ends
    assert ends[1].hidden and ends[3].lifted == "cut"


def test_further_stacks_are_read_one_a_line_with_how_many() -> None:
    stacks = read_stacks("1 × bolt M5 / chassis / ring (captive) / nut 3/8\n\n2x screw / chassis\nbolt / nut")
    assert [(one.times, one.pieces) for one in stacks] == [
        (1, ("bolt M5", "chassis", "ring (captive)", "nut 3/8")), (2, ("screw", "chassis")), (1, ("bolt", "nut"))]
    assert read_stacks("\n".join(one.text for one in stacks)) == stacks
    for wrong in ("0 × bolt / nut", "41 × bolt", "3 ×"):
        with pytest.raises(BadInput, match="enter how many and the pieces"):
            read_stacks(wrong)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_has_a_usual_cavity_or_closes_from_outside(kind: Kind) -> None:
    assert usual_cavity(kind) in (*CAVITIES, "") and (usual_cavity(kind) or kind in (Kind.COVER, Kind.FUSE, Kind.WOOD_SCREW))


@pytest.mark.parametrize(("text", "counts"), [
    ("2 fibre washer, 1 spacer", {"fibre washer": 2, "spacer": 1}), ("clip", {"clip": 1}), ("1 nut, 2 Nut", {"nut": 3}), ("", {}),
])
def test_counts_are_read_as_they_are_said(text: str, counts: dict[str, int]) -> None:
    assert read_counts(text, "lacked") == counts == read_counts(say_counts(counts), "lacked")


@pytest.mark.parametrize("text", ["0 nut", "2", "2 "])
def test_a_count_of_nothing_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        read_counts(text, "lacked")


def test_the_front_panel_has_fifty_five_loose_pieces() -> None:
    """Seven pots, two toggles, four jacks, two end screws: 39 over the panel and 16 inside (counted by hand)."""
    pot = ("knob", "nut", "flat washer", "fascia", "chassis", "toothed washer", "body")
    back = (*pot[:-1], "back-nut", "body")
    toggle = back[1:]
    isolated = ("nut", "flat washer", "fibre washer", "fascia", "chassis", "shoulder bush", "body")
    jack, end = pot[1:], ("screw", "cup washer", "fascia", "chassis insert")
    stacks = [pot] * 6 + [back] + [toggle] * 2 + [isolated] * 2 + [jack] * 2 + [end] * 2
    total: dict[str, int] = {}
    for stack in stacks:
        for name, count in loose_pieces([Stack(1, stack)], {}).items():
            total[name] = total.get(name, 0) + count
    assert total == {"knob": 7, "nut": 13, "flat washer": 13, "fibre washer": 2, "screw": 2, "cup washer": 2,
                     "toothed washer": 11, "back-nut": 3, "shoulder bush": 2}
    assert sum(total.values()) == 55


@pytest.mark.parametrize(("bag", "loom", "loose", "lacks"), [
    ("7", False, 3, ""), ("7", True, 3, ""), ("", True, 0, ""), ("", True, 1, "its 1 loose piece lies"),
    ("", False, 0, "or that it stays on its loom"),
])
def test_a_tag_says_where_it_lies(bag: str, loom: bool, loose: int, lacks: str) -> None:
    told = why_not_tagged(bag=bag, stays_on_loom=loom, loose=loose)
    assert lacks in told and bool(told) == bool(lacks)


def test_every_offered_piece_has_a_shape_of_its_kind() -> None:
    assert {piece: shape_of(piece) for piece in STACK_PIECES if shape_of(piece) == "other"} == {}
    assert shape_of("Lock-nut") == "locknut" and shape_of("back-nut") == "nut" and shape_of("felt") == "other"
    assert len({shape_of(piece) for piece in ("flat washer", "toothed washer", "spring washer", "fibre washer", "cup washer")}) == 5


@given(st.lists(st.sampled_from([*STACK_PIECES, *FASTENERS, "felt", "PE ring (captive)"]), min_size=1, max_size=24))
def test_a_drawing_keeps_the_order_and_nothing_lies_over_another(stack: list[str]) -> None:
    drawing = draw(stack)
    assert drawing is not None
    assert [one.words for one in drawing.pieces] == [piece.removesuffix(" (captive)") for piece in stack]
    for one, other in zip(drawing.pieces, drawing.pieces[1:], strict=False):
        assert other.x >= one.x + one.width and other.ball >= one.ball + 26
    last = drawing.pieces[-1]
    assert last.x + last.width <= drawing.width and last.ball + 13 <= drawing.width
    assert drawing.words.startswith("Stack from outside to inside: 1 ")


def test_nothing_is_drawn_of_nothing() -> None:
    assert draw([]) is None and read_stack(" \n,") == () and read_stack("Nut / Felt") == ("nut", "Felt")


def test_a_screw_that_is_merely_called_screw_is_still_counted() -> None:
    """Two end screws under their kind's own name: neither is what the other's stack means by a screw."""
    names = unambiguous_names([("screw", "E1"), ("screw", "E2"), ("fascia", "FAS"), ("pot", "P1"), ("pot", "P2"), ("nut", "N1")])
    assert names == {"fascia": "FAS"}
    assert loose_pieces([Stack(1, ("screw", "cup washer", "fascia", "chassis insert"))], {}, names) == {"screw": 1, "cup washer": 1}
