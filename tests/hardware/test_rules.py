"""Classes of hardware as they are typed and said. Threads stand as ISO 965-1 (M4), ASME B1.1 (6-32) and BS 93 (4BA)
designate them, from memory; the order of the words: common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.hardware.rules import FINISHES, HEADS, KINDS, LENGTHS, SIZES, THREADS, Hardware, read_class


@pytest.mark.parametrize(("typed", "label"), [
    ("screw", "screw"), ("Lock-nut", "lock-nut"), ("screw M4x16", "screw M4 × 16"), ("SCREW m4 * 16.0 mm Pan", "screw M4 × 16 pan"),
    ("M4x16 screw", "screw M4 × 16"), ("m3 screw", "screw M3"), ("nut 4 ba", "nut 4BA"),
    ("screw #6-32 x 3/8\"", "screw 6-32 × 3/8 in"),
    ("bolt 1/4-20 × 1 1/2 in hex zinc", "bolt 1/4-20 × 1 1/2 in hex zinc"), ("wood screw No 8 x 3/4", "wood screw no. 8 × 3/4 in"),
    ("bolt M8x1x20", "bolt M8×1 × 20"), ("grommet ø10mm", "grommet Ø 10"), ("spacer x 10 mm", "spacer × 10"),
    ("screw 6-32 × 1/2 raised countersunk black", "screw 6-32 × 1/2 in raised countersunk black"),
    ("nut M4 rusty", "nut M4 rusty"), ("screw pan", "screw pan"), ("end screw", "end screw"), ("solder ball", "solder ball"),
    ("F1", "f1"),
])
def test_a_class_is_read_however_it_is_typed(typed: str, label: str) -> None:
    assert read_class(typed).label == label and read_class(label) == read_class(typed)


def test_what_is_said_of_a_class_stands_in_its_place() -> None:
    assert read_class("screw M4 × 16 pan zinc") == Hardware("screw", "M4", "16", "pan", "zinc")
    assert read_class("screw M4 × 16") != read_class("screw M4 × 30") != read_class("screw M3 × 30")


@given(st.builds(Hardware, st.sampled_from(KINDS), st.sampled_from(["", *THREADS, "Ø 8", "1/4-20"]),
                 st.sampled_from(["", *LENGTHS]), st.sampled_from(["", *HEADS]), st.sampled_from(["", *FINISHES])))
def test_every_class_that_can_be_tapped_is_read_back_from_its_label(made: Hardware) -> None:
    assert read_class(made.label) == made


@given(st.text(alphabet="screwM46nut ×x/-.0123 iøpa", min_size=1, max_size=30).filter(str.strip))
def test_no_text_is_lost_and_a_label_names_itself(text: str) -> None:
    label = read_class(text).label
    assert label and read_class(label).label == label


def test_the_sizes_that_are_offered_are_sizes() -> None:
    assert [size for size in SIZES if read_class(f"screw {size}").size != size] == []
