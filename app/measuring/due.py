"""What the register of instruments makes due: calibrations."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from app.errors import Missing
from app.measuring.models import Instrument
from app.measuring.rules import State
from app.orders.due import UNTIL, Asked, Due, Source, asks, from_row

CALIBRATION = "Calibration"
MONTH = 30  # days: a laboratory needs some weeks (common practice, no source)


def _calibrations(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    for row in rows:
        text = (f"The calibration of {row.words} has run out: its readings pass nothing." if row.day < asked.today
                else f"The calibration of {row.words} ends on this day.")
        yield from_row(row, text, row.day, Missing(text, "instruments.one", (("instrument_id", row.subject_id),)))


CALIBRATIONS = Source(CALIBRATION, asks(CALIBRATION, of_order=False, of_customer=False, subject_id=Instrument.id,
                                        day=Instrument.due_on, words=Instrument.name)
                      .where(Instrument.state == State.IN_SERVICE, Instrument.due_on <= UNTIL), _calibrations, ahead=MONTH)
