"""A quantity keeps its unit from the field to the sentence: volts are never said in ohms.

The name of a field or figure ends with what it is measured in, and so it is printed; a number in a sentence, a note or a picture's
words has a unit that the same number has in a field or a figure. Signs of units: the SI brochure, 9th edition, table 4.
"""

from __future__ import annotations

import re

import pytest

from app.bench.sums.kinds import Answer, Sum
from app.bench.sums.sections import SUMS
from tests.sums.test_sections import EACH, default

MEASURED_IN = {"v": "V", "vrms": "V", "vpp": "V", "volt": "V", "ohm": "ohm", "a": "A", "ampere": "A", "w": "W", "watt": "W",
               "f": "F", "farad": "F", "h": "H", "henry": "H", "s": "s", "seconds": "s", "hz": "Hz", "hertz": "Hz", "j": "J",
               "joule": "J", "va": "VA", "metre": "m", "months": "months", "c": "°C"}
SAID = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)[\s\u00a0]([pnµmkMG]?)(Ω|VA|V|A|W|F|Hz|H|J)(?![\w²])")
SIGNS = {"Ω": "ohm"}


def _unit(name: str) -> str | None:
    return MEASURED_IN.get(name.rsplit("_", 1)[-1])


@EACH
def test_a_name_and_its_unit_say_the_same(one: Sum) -> None:
    named = [(field.name, field.unit) for field in one.fields if field.kind in ("quantity", "plain")]
    named += [(figure.key, figure.unit) for figure in default(one).figures if not isinstance(figure.value, str)]
    assert [(name, unit) for name, unit in named if _unit(name) not in (None, unit)] == []


def said(text: str) -> list[tuple[str, str]]:
    """Numbers with a prefix, and their unit: ("140 m", "ohm")."""
    return [(f"{number} {prefix}", SIGNS.get(sign, sign)) for number, prefix, sign in SAID.findall(text)]


def words_of(answer: Answer) -> list[str]:
    return [answer.sentence, *answer.notes, *(picture.alt for picture in answer.pictures),
            *(figure.value for figure in answer.figures if isinstance(figure.value, str))]


@EACH
def test_what_is_said_of_a_figure_has_its_unit(one: Sum) -> None:
    answer = default(one)
    known: dict[str, set[str]] = {}
    for figure in answer.figures:
        for number, unit in said(figure.text):
            known.setdefault(number, set()).add(unit)
    wrong = [(number, unit) for text in words_of(answer) for number, unit in said(text) if unit not in known.get(number, {unit})]
    assert wrong == []


def test_the_bond_is_said_in_ohms_throughout() -> None:
    answer = default(SUMS["earth-bond"])
    told = [unit for text in words_of(answer) for _, unit in said(text)] + [figure.unit for figure in answer.figures if figure.unit]
    assert len(told) > 8 and set(told) <= {"ohm", "A"}  # amperes: the test current
    assert answer.pictures and all("Ω" in picture.alt for picture in answer.pictures)


@pytest.mark.parametrize(("text", "found"), [("140 mΩ is within", [("140 m", "ohm")]), ("0.158 V for", [("0.158 ", "V")]),
                                             ("1 mm² of 3 m", []), ("25 A and 50 Hz", [("25 ", "A"), ("50 ", "Hz")])])
def test_units_are_seen(text: str, found: list[tuple[str, str]]) -> None:
    assert said(text) == found
