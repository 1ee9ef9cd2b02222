"""Forms of the hours."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, tzinfo

from wtforms import BooleanField, HiddenField, RadioField, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.findings.models.findings import Finding
from app.findings.rules.life import Area
from app.hours.queries.work import Piece
from app.hours.rules.timing import Span
from app.hours.rules.words import Called, KindFacts, WorkKey, parse_key
from app.hours.service.calls import Call
from app.hours.service.tasks import Plan
from app.kernel.form_fields import ClockField, DayField, House, MoneyField, Needed, options
from app.quote.hours_field import HoursField
from app.quote.rules.lines import Hours
from app.shop.opening_hours import at_minute


class StartForm(House):
    """Which work, which step of the way back, and the timer that the page saw running."""

    work = HiddenField()
    step = HiddenField()
    running = HiddenField()
    allowed_by = StringField("Allowed by", [Optional(), Length(max=200)])

    @property
    def key(self) -> WorkKey | None:
        return parse_key(self.work.data or "")

    @property
    def seen(self) -> int:
        text = self.running.data or ""
        return int(text) if text.isascii() and text.isdecimal() and len(text) < 18 else 0


class TimesForm(House):
    """From when to when, by the clock on the wall of the shop, and why it is entered."""

    day = DayField("Day", [Needed("Enter the day, such as 2026-11-25.")])
    started = ClockField("From", [Needed("Enter when it began, such as 14:30.")])
    stopped_day = DayField("Day of the end", [Optional()])
    stopped = ClockField("To", [Needed("Enter when it ended, such as 16:00.")])
    reason = TextAreaField("Why", [Needed("Enter why it is entered or corrected."), Length(max=400)])

    def span(self, zone: tzinfo, entered: Span | None = None) -> Span:
        """Moments, UTC. Where the minute is still that of what was `entered`, its own moment: a timer begins in the second in which
        the one before it stops, and an hour that the clocks show twice is the one that it was.
        """
        last = self.stopped_day.data or self.day.data
        known = [one for one in (entered.start, entered.end) if one is not None] if entered else []
        start = _moment(self.day.data, self.started.data, zone, known[:1])
        return Span(start, _moment(last, self.stopped.data, zone, [*known[1:], start]))


class EnterForm(TimesForm):
    """The same, and on which work."""

    task = SelectField("Work", [Needed("Choose the work.")])

    def offer(self, pieces: Iterable[Piece]) -> None:
        self.task.choices = options((one.key.text, one.what[:80]) for one in pieces)

    @property
    def key(self) -> WorkKey | None:
        return parse_key(self.task.data or "")


class PlanForm(House):
    """What is planned for a task."""

    kind = SelectField("Kind of work", [Needed("Choose the kind of work.")])
    hours_likely = HoursField("Likely hours", [Optional()])
    hours_low = HoursField("At least", [Optional()])
    hours_high = HoursField("At most", [Optional()])
    unattended_hours = HoursField("Then by itself, drying or soaking", [Optional()])
    before = SelectMultipleField("Only after", [Optional()])

    def offer(self, kinds: Iterable[KindFacts], others: Iterable[Piece]) -> None:
        """The shop's kinds, and what can come before: work that was planned or begun."""
        self.kind.choices = options((one.name, one.name) for one in kinds)
        self.before.choices = options((one.key.text, one.what[:60]) for one in others)

    def plan(self) -> Plan:
        likely = self.hours_likely.data if self.hours_likely is not None else None  # an agreed item's stand on the quote
        alone = self.unattended_hours.data or 0.0
        hours = None if likely is None else Hours(_or(self.hours_low.data, likely), likely, _or(self.hours_high.data, likely))
        keys = tuple(key for text in self.before.data or () if (key := parse_key(text)) is not None)
        return Plan(self.kind.data, hours, True, alone, keys)


class TaskForm(PlanForm):
    """A task of its own."""

    what = StringField("What is to be done", [Needed("Enter what is to be done."), Length(max=300)])
    finding = SelectField("What it is about", coerce=int, default=0)

    def offer_findings(self, findings: Iterable[Finding]) -> None:
        self.finding.choices = options([(0, "nothing found: a task of its own"),
                                        *((one.id, f"{one.number}. {one.observation[:80]}") for one in findings)])


class CallForm(House):
    """How a call about the hours went."""

    how = RadioField("Answer", [Needed("Choose how the call went.")], coerce=Called,
                     choices=options((one, one.word) for one in Called))
    reached_at = StringField("Number called or address written to", [Optional(), Length(max=200)])
    ceiling_minor = MoneyField("New limit for the whole order, tax included", [Optional()])
    note = TextAreaField("What they said", [Optional(), Length(max=600)])

    def call(self) -> Call:
        return Call(self.how.data, self.reached_at.data or "", self.ceiling_minor.data, self.note.data or "")


class ReasonForm(House):
    """Why."""

    reason = TextAreaField("Why", [Needed("Enter why."), Length(max=400)])


class KindForm(House):
    """A kind of work of the shop's own."""

    name = StringField("Kind of work", [Needed("Enter what this kind of work is called."), Length(max=60)])
    areas = SelectMultipleField("For findings of", [Optional()], choices=options((one.value, one.value) for one in Area))


class ChangeKindForm(House):
    """Which findings propose a kind, and whether it is still used."""

    areas = SelectMultipleField("For findings of", [Optional()], choices=options((one.value, one.value) for one in Area))
    in_use = BooleanField("In use")


def _moment(day: date, wall: time, zone: tzinfo, known: Iterable[datetime]) -> datetime:
    """A time on the wall; of the known moments the first that the wall shows so."""
    shown = datetime.combine(day, wall)
    return next((one for one in known if one.astimezone(zone).replace(second=0, microsecond=0, tzinfo=None) == shown),
                at_minute(day, wall.hour * 60 + wall.minute, zone))


def _or(value: float | None, other: float) -> float:
    return other if value is None else value
