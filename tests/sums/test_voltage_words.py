"""A calculation's page says voltage and current: volts and amperes are units (SI brochure, 9th edition, section 5.4: a quantity
is not called by its unit)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from app.bench.sums.kinds import Sum
from app.bench.sums.pictures.drawing import Word
from tests.sums.test_sections import EACH, default

UNIT_FOR_QUANTITY = re.compile(r"\b(volts|amps|amperes)\b", re.IGNORECASE)


def texts(one: Sum) -> Iterator[str]:
    """All that a sum's page says of itself, sources apart: they are quoted."""
    yield from (one.title, one.lead, one.formula, one.caution)
    for field in one.fields:
        yield from (field.label, field.hint, *(word for _, word in field.options))
    answer = default(one)
    yield from (answer.sentence, *answer.notes, *answer.cautions, *(figure.label for figure in answer.figures))
    yield from (figure.value for figure in answer.figures if isinstance(figure.value, str))
    for limit in answer.limits:
        yield from (limit.name, limit.note)
    for picture in answer.pictures:
        yield from (picture.title, picture.alt, *(item.text for item in picture.items if isinstance(item, Word)))


@EACH
def test_a_sum_says_voltage_and_current(one: Sum) -> None:
    assert [text for text in texts(one) if UNIT_FOR_QUANTITY.search(text)] == []
