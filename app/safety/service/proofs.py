"""Proving findings with what was measured."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.findings.models.findings import Finding
from app.findings.service import outcome as outcome_service
from app.journal.service import Actor
from app.measuring.models import Reading
from app.measuring.rules import Verdict
from app.safety.models.testing import ProofReading


def prove(finding: Finding, *, result: str, reading: Reading | None = None, instrument: str = "", by: Actor,
          now: datetime) -> None:
    """What the finding's check showed; a reading of this order may be named as what it rests on."""
    words = result.strip()
    if reading is not None:
        if reading.order_id != finding.order_id:
            raise BadInput("This reading belongs to another repair.", "reading")
        if reading.corrected_by is not None:
            raise BadInput("This reading was corrected. Choose the later one.", "reading")
        if reading.verdict in (Verdict.FAIL, Verdict.UNDECIDED) and not reading.explanation:
            raise BadInput(f"{reading.point}: {reading.words} is {reading.verdict.word}, which does not prove a repair. "
                           f"Repair it and "
                           "read again, or enter at the reading why it is acceptable.", "reading")
        if not words:
            raise BadInput("Enter what the check showed.", "result")
        words = f"{words} ({reading.point}: {reading.words}, {reading.verdict.word})"
        instrument = instrument or reading.instrument_words
    outcome_service.prove(finding, result=words, instrument=instrument, by=by, now=now)
    if reading is not None:
        session().add(ProofReading(finding_id=finding.id, reading=reading, at=now, by_name=by.name))
        session().flush()
