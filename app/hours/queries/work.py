"""Every piece of work of an order: what was agreed, what came off, what somebody added; with the hours spent on each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from app.findings import queries as findings
from app.hours.models import Task, TimeEntry
from app.hours.queries import history
from app.hours.queries.tasks import entries_of, kind_for, standing, tasks_of
from app.hours.rules.outlook import Work, fitted
from app.hours.rules.timing import Span, spent
from app.hours.rules.words import OF_ROLE, OTHER, Role, WorkKey
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.parts import queries as parts
from app.parts.models import Part
from app.parts.rules import PartState
from app.quote import queries as quote
from app.quote.models import IssuedLine
from app.quote.rules.lines import Hours
from app.quote.rules.words import WorkKind
from app.reassembly.queries.way import way_back

TITLES = {Role.DIAGNOSIS: "Diagnosis", Role.STRIP_DOWN: "Strip-down", Role.WAY_BACK: "Way back"}
MODIFICATION = "modification"


@dataclass(frozen=True)
class Piece:
    """One piece of work. `hours`: as agreed or planned, None where nothing is; `left_hours`: of the way back, of the steps left."""

    key: WorkKey
    what: str
    hours: Hours | None
    task: Task | None = None
    line: IssuedLine | None = None
    agreed: bool = True
    entries: tuple[TimeEntry, ...] = ()  # that count, attended
    unattended: tuple[TimeEntry, ...] = ()
    waits: tuple[str, ...] = ()  # tasks to be finished first
    parts: tuple[Part, ...] = ()  # that have not come
    left_hours: float | None = None
    area: str = ""  # of the finding that an item is about

    @property
    def kind(self) -> str:
        """Its kind of work: as planned, else as proposed. Asked only where it is shown or estimated."""
        if self.task is not None:
            return self.task.kind.name
        if self.line is not None:
            return kind_of_line(self.line, self.area)
        return OF_ROLE.get(self.key.role, OTHER)

    @property
    def finished(self) -> bool:
        return self.task is not None and self.task.finished_at is not None

    @property
    def running(self) -> tuple[TimeEntry, ...]:
        return tuple(one for one in self.entries if one.stopped_at is None)

    @property
    def alone(self) -> TimeEntry | None:
        """The unattended time that runs on it."""
        return next((one for one in self.unattended if one.stopped_at is None), None)

    def spent(self, now: datetime) -> float:
        """Attended hours, those that run included."""
        return spent([span_of(one) for one in self.entries], now)

    def spent_alone(self, now: datetime) -> float:
        """Unattended hours."""
        return spent([span_of(one) for one in self.unattended], now)

    def work(self, now: datetime) -> Work:
        """As the sums see it."""
        gone = self.spent(now)
        if self.left_hours is not None:
            left = fitted(Hours.one(self.left_hours), history.calibration_of(self.kind))
            return Work(left, gone, self.finished, so_far=0.0)
        return Work(fitted(self.hours, history.calibration_of(self.kind)) if self.hours else None, gone, self.finished)


def span_of(entry: TimeEntry) -> Span:
    return Span(entry.started_at, entry.stopped_at)


def pieces(order: RepairOrder) -> list[Piece]:
    """What is and was worked on: diagnosis, strip-down, items of the quote, the way back, tasks of their own."""
    tasks = [one for one in tasks_of(order) if one.withdrawn_at is None]
    by_role = {one.role: one for one in tasks if one.role not in (Role.ITEM, Role.OWN)}
    entries = standing(entries_of(order))
    names = {one.id: one for one in tasks}
    found = [_of_role(role, by_role.get(role), entries) for role in (Role.DIAGNOSIS, Role.STRIP_DOWN)]
    found += _items(order, [one for one in tasks if one.role is Role.ITEM], entries)
    found += _way_back(order, by_role.get(Role.WAY_BACK), entries)
    found += [_on_word(_piece(WorkKey(Role.OWN, one.id), one.what, _own_hours(one), one, entries))
              for one in tasks if one.role is Role.OWN]
    return [_waiting(one, names) for one in found]


def piece(order: RepairOrder, key: WorkKey) -> Piece | None:
    """The piece of work that a form means, if the order has it."""
    return next((one for one in pieces(order) if one.key == key), None)


def _items(order: RepairOrder, tasks: Sequence[Task], entries: Sequence[TimeEntry]) -> list[Piece]:
    """The agreed items, and those that are agreed no longer but were worked on."""
    by_line = {one.line_root_id: one for one in tasks}
    agreed, found = quote.agreed_lines(order), []
    areas = {one.id: one.area.value for one in findings.findings_of(order)} if agreed else {}
    missing = _missing_parts(order) if agreed else []
    for line in agreed:
        task = by_line.pop(line.line_root_id, None)
        hours = _own_hours(task) if task is not None and task.finished_at is not None else None
        found.append(_piece(WorkKey(Role.ITEM, line.line_root_id), line.what, hours or line.hours, task, entries, line,
                            tuple(part for part in missing if part.line_root_id == line.line_root_id),
                            areas.get(line.finding_id or 0, "")))
    left_over = [_piece(WorkKey(Role.ITEM, one.line_root_id or 0), one.what, _own_hours(one), one, entries)
                 for one in by_line.values()]
    return found + [_not_agreed(one) for one in left_over]


def kind_of_line(line: IssuedLine, area: str) -> str:
    """The kind that an item of the quote proposes: a modification, else what its finding's area stands for."""
    if line.kind is WorkKind.MODIFICATION:
        return MODIFICATION
    return kind_for(area) if area else OTHER


def _way_back(order: RepairOrder, task: Task | None, entries: Sequence[TimeEntry]) -> list[Piece]:
    """Its steps' minutes, once the quote is answered: before, nobody puts anything back."""
    key = WorkKey(Role.WAY_BACK)
    if IN_ORDER.index(order.stage) < IN_ORDER.index(Stage.PARTS):
        return [_piece(key, TITLES[Role.WAY_BACK], None, task, entries)] if task is not None else []
    way = way_back(order, planned=False)
    if not way.steps and task is None:
        return []
    planned = sum(step.minutes for step in way.steps.values()) / 60
    left = sum(step.minutes for step in way.left) / 60
    made = _piece(key, TITLES[Role.WAY_BACK], Hours.one(planned) if planned else None, task, entries)
    return [_with(made, left_hours=left)]


def _missing_parts(order: RepairOrder) -> list[Part]:
    return [part for part in parts.called_for(order) if part.state in (PartState.NEEDED, PartState.ORDERED)]


def _of_role(role: Role, task: Task | None, entries: Sequence[TimeEntry]) -> Piece:
    return _piece(WorkKey(role), TITLES[role], _own_hours(task), task, entries)


def _piece(key: WorkKey, what: str, hours: Hours | None, task: Task | None, entries: Sequence[TimeEntry],
           line: IssuedLine | None = None, missing: tuple[Part, ...] = (), area: str = "") -> Piece:
    own = [one for one in entries if task is not None and one.task_id == task.id]
    return Piece(key, what, hours, task, line, True, tuple(one for one in own if not one.unattended),
                 tuple(one for one in own if one.unattended), (), missing, None, area)


def _own_hours(task: Task | None) -> Hours | None:
    if task is None or task.hours_likely is None or task.hours_low is None or task.hours_high is None:
        return None
    return Hours(task.hours_low, task.hours_likely, task.hours_high)


def _on_word(piece: Piece) -> Piece:
    """A task that stands on no quote: agreed to once somebody said who allows it."""
    return piece if any(one.allowed_by for one in (*piece.entries, *piece.unattended)) else _not_agreed(piece)


def _not_agreed(piece: Piece) -> Piece:
    return _with(piece, agreed=False)


def _waiting(piece: Piece, names: dict[int, Task]) -> Piece:
    if piece.task is None or not piece.task.before:
        return piece
    first = [names[one.first_id] for one in piece.task.before if one.first_id in names]
    return _with(piece, waits=tuple(one.what for one in first if one.finished_at is None))


def _with(piece: Piece, **changed: object) -> Piece:
    return replace(piece, **changed)  # type: ignore[arg-type]
