"""The final report and invoice, for the owner of the amp: what they told, what was found and done, how it was proved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from app.boards import queries as boards_queries
from app.documents.build import picture_pairs
from app.documents.chart import Given, draw
from app.findings import queries as findings_queries
from app.findings.models.findings import Finding
from app.findings.rules.life import Disposition, Origin, Status
from app.handover import queries as handover
from app.intake.queries import sheets as sheets_queries
from app.kernel.local_forms import plural
from app.measuring.queries import Row, as_found_as_left
from app.orders import authority
from app.orders.lugs import Lug, lugs
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.parts import queries as parts
from app.photos import pins
from app.photos.models import Photo, Pin
from app.quote import costs
from app.quote import queries as quotes
from app.removals import queries as removals
from app.removals.rules import Outcome
from app.safety.record import safety_record
from app.shop.queries import day, the_shop

FINDING_PIN = "finding"


@dataclass(frozen=True)
class Callout:
    """A numbered pin on a printed photo: where, as fractions of the picture, and whether it is the one that is spoken of."""

    number: int
    x: float
    y: float
    own: bool


@dataclass(frozen=True)
class Found:
    """A finding as the owner reads it."""

    finding: Finding
    word: str  # how it ended, for the left column
    photo: Photo | None
    callouts: tuple[Callout, ...]  # over that photo


@dataclass(frozen=True)
class Count:
    """One figure with what it counts."""

    number: int
    words: str


def values(order: RepairOrder, _about: int = 0) -> dict[str, Any]:
    """Everything on the report as things stand."""
    findings = [one for one in findings_queries.findings_of(order) if one.status is not Status.WITHDRAWN]
    gravest = findings_queries.gravest_first(findings)
    readings = as_found_as_left(order)
    agreed, answer = quotes.agreed_lines(order), quotes.authorisation(order)
    return {
        "told": sheets_queries.complaint(order.id), "lugs": _strip(order, out=False), "lugs_out": _strip(order, out=True),
        "findings": _found(gravest, pins.by_record(order.id, FINDING_PIN)),
        "pairs": picture_pairs.pairs(order), "counts": _counts(order, gravest), "rows_read": _read(readings),
        "chart": draw(_given(row) for row in readings), "meters": _meters(readings),
        "conditions": _conditions(readings), "fitted": parts.fitted(order), "agreed": agreed, "answer": answer,
        "quote": answer.quote if answer else None, "committed_minor": costs.committed(order),
        "in_all_minor": quotes.authorised_sum(order),
        "ceiling_minor": authority.ceiling(order.id), "settlement": handover.settlement(order.id),
        "declined": quotes.declined_lines(order), "old_parts": handover.old_parts(order.id),
        "demonstration": handover.demonstration(order.id), "things": handover.things(order.id),
        "signed": handover.signature(order.id), "goods": order.amp,
        "safety": safety_record(order),
    }


def _found(findings: Sequence[Finding], pinned: Mapping[int, Sequence[Pin]]) -> list[Found]:
    numbers = {one.id: one.number for one in findings}
    told = []
    for one in findings:
        photo = pinned[one.id][0].photo if one.id in pinned else None
        there = [pin for subject, each in pinned.items() if subject in numbers for pin in each
                 if photo is not None and pin.photo_id == photo.id]
        marks = tuple(Callout(numbers[pin.subject_id], pin.x, pin.y, pin.subject_id == one.id) for pin in there
                      if pin.x is not None and pin.y is not None)
        told.append(Found(one, _ended(one), photo, marks))
    return told


def _ended(finding: Finding) -> str:
    if finding.status is Status.DECLINED:
        return "Declined"
    if finding.disposition in (Disposition.ACCEPT, Disposition.MONITOR):
        return "Watch" if finding.disposition is Disposition.MONITOR else "Left as it is"
    return {Status.PROVED: "Cured", Status.ACTED_ON: "Done"}.get(finding.status, "Open")


def _counts(order: RepairOrder, findings: Sequence[Finding]) -> list[Count]:
    """What is still as it was made, what was exchanged and put right; a figure that is nought is left out."""
    refitted = sum(one.ended_as is Outcome.REFITTED for one in removals.of_order(order))
    fitted = sum(part.quantity for part in parts.fitted(order))
    earlier = sum(one.origin is Origin.EARLIER_WORK and one.status is Status.PROVED for one in findings)
    cured = sum(one.status is Status.PROVED and one.disposition not in (Disposition.ACCEPT, Disposition.MONITOR)
                for one in findings)
    found = (Count(refitted, f"{plural(refitted, 'piece')} taken off and put back"),
             Count(cured, f"{plural(cured, 'finding')} put right and proved"),
             Count(fitted, f"{plural(fitted, 'part')} fitted"),
             Count(earlier, f"{plural(earlier, 'earlier repair')} set right"))
    return [*_boards(order), *(one for one in found if one.number)]


def _boards(order: RepairOrder) -> list[Count]:
    """From the board sheets, noughts too: that nothing was replaced is worth a line. Nothing where no sheet has a position."""
    sums = boards_queries.totals_of(order)
    told = ((sums.kept, "on its boards still as made", True), (sums.replaced, "on its boards replaced", True),
            (sums.altered, "on its boards altered by earlier hands", True), (sums.undecided, "on its boards not decided", False))
    any_at_all = any(number for number, _, _ in told)
    return [Count(number, f"{plural(number, 'part')} {words}") for number, words, always in told
            if any_at_all and (always or number)]


def _strip(order: RepairOrder, *, out: bool) -> tuple[Lug, ...]:
    """The strip as it stands on paper; `out` makes the return off too, for a report with the signature of whoever took it.

    It is the same before and after the order ends, so that ending it does not make the report old.
    """
    zone = the_shop().zone
    left = {move.from_stage: day(move.at.astimezone(zone)) for move in order.moves
            if IN_ORDER.index(move.to_stage) > IN_ORDER.index(move.from_stage)}
    return lugs(order.stage, ended=out and order.stage is Stage.RETURN, held=False, left_on=left)


def _read(rows: Sequence[Row]) -> list[Row]:
    return [row for row in rows if row.as_found or row.as_left]


def _given(row: Row) -> Given:
    point = row.point
    found = row.as_found.value if row.as_found and row.as_found.quantity is point.quantity else None
    left = row.as_left.value if row.as_left and row.as_left.quantity is point.quantity else None
    return Given(point.name, point.lower, point.expected, point.upper, found, left)


def _meters(rows: Sequence[Row]) -> list[str]:
    """Each instrument once, with the day on which its calibration ends."""
    seen: dict[str, None] = {}
    for row in rows:
        for one in (row.as_found, row.as_left):
            if one is not None:
                due = f", calibration due {day(one.due_on)}" if one.due_on else ", no calibration on record"
                seen[f"{one.instrument_words}{due}"] = None
    return list(seen)


def _conditions(rows: Sequence[Row]) -> list[str]:
    seen: dict[str, None] = {}
    for row in rows:
        for phase, one in (("as found", row.as_found), ("as left", row.as_left)):
            if one is not None and (one.condition or one.mains_v):
                supply = f"{one.mains_v:g} V" if one.mains_v else ""
                seen[f"{phase}: {', '.join(part for part in (one.condition, supply) if part)}"] = None
    return list(seen)
