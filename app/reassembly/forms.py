"""Forms of the way back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from wtforms import BooleanField, PasswordField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, NotationField, QuantityField, options
from app.kernel.numbers import IntegerField
from app.measuring.insulation import ASKED
from app.measuring.models import Instrument
from app.reassembly.queries.work import Proposal
from app.reassembly.service.counts import NO_FIGURE
from app.removals.models import Removal
from app.removals.rules import Explained, Fate, OldPart

K = TypeVar("K")
COUNT = "Enter a whole number, zero or more."
UNDONE = ("something must come out first", "a piece was left out", "it sits wrong", "tapped by mistake")


class UndoForm(House):
    """Why a step is taken back: by chip, or in other words."""

    usual = RadioField("Why it is undone", [Optional()], choices=options((one, one) for one in UNDONE), validate_choice=False)
    reason = StringField("In other words", [Optional(), Length(max=300)])

    @property
    def why(self) -> str:
        return str(self.reason.data or (self.usual.data if self.usual.data in UNDONE else "") or "")


class ForceForm(House):
    """Why a step is done out of order."""

    forced_reason = StringField("Why it is done out of order", [Needed("Enter why it is done out of order."), Length(max=300)])


class DiffersForm(House):
    """Why what goes back is not what came off."""

    differs = StringField("What is different, and why", [Needed("Enter what is different, and why."), Length(max=300)])


class MeasureForm(House):
    """A reading in bench notation, its meter and its limits."""

    typed = NotationField("Reading", [Needed("Enter what the meter shows, for example 0.12 or >200M."), Length(max=40)])
    zero_is_real = BooleanField("It truly shows 0: leads apart first, null checked")
    instrument = SelectField("Meter", coerce=int, choices=[], validate_choice=False)
    lower = QuantityField("At least", [Optional()], unit="Ω")
    upper = QuantityField("At most", [Optional()], unit="Ω")
    basis = StringField("The limit rests on", [Optional(), Length(max=200)])

    def offer(self, meters: Sequence[Instrument]) -> None:
        self.instrument.choices = options((one.id, one.name) for one in meters)


class InsulationForm(MeasureForm):
    """A reading of an insulation, with the tester's volts and what is out for it."""

    level = RadioField("Tester set to", [Optional()], coerce=float, validate_choice=False)
    unplugged = BooleanField("Every valve is out, and every board with semiconductors is unplugged")

    def offer_volts(self, volts: Iterable[float]) -> None:
        self.level.choices = options((one, f"{one:g} V DC") for one in sorted(volts))


class FittedForm(House):
    """What lies between the mains and the metal: yes or no by one tap."""

    conducts = RadioField(ASKED, [Needed("Tap yes or no.")], choices=options([("no", "no"), ("yes", "yes")]))


class DoneForm(House):
    """A tap; and who allows it, where nobody has agreed to it yet."""

    authority = StringField("Who allows it", [Optional(), Length(max=200)])


class StageForm(House):
    """One reading of a stage with the mains on, and what it is held against."""

    point = StringField("Read at", [Needed("Enter where it was read, for example pin 5 of V4."), Length(max=80)])
    typed = StringField("Reading", [Needed("Enter what the meter shows, for example -42.5 or 38m."), Length(max=40)])
    zero_is_real = BooleanField("It truly shows 0: leads apart first, null checked")
    instrument = SelectField("Meter", coerce=int, choices=[], validate_choice=False)
    basis = StringField("The expectation rests on", [Optional(), Length(max=200)])

    def offer(self, meters: Sequence[Instrument]) -> None:
        self.instrument.choices = options((one.id, one.name) for one in meters)


def stage_form(unit: str) -> type[Any]:
    """The form of a stage's reading, its limits in that stage's unit."""
    limits = {name: QuantityField(words, [Optional()], unit=unit) for name, words in (("lower", "At least"), ("upper", "At most"))}
    return type("StageForm", (StageForm,), limits)


class ReopenForm(House):
    """It is back on and comes off again, for another fate."""

    fate = RadioField("What becomes of it", coerce=Fate, default=Fate.REFIT,
                      choices=options((one.value, one.word) for one in Fate if one is not Fate.NEW))
    old_part = RadioField("The old one goes", [Optional()], validate_choice=False,
                          choices=options((one.value, one.word) for one in OldPart))
    fate_reason = StringField("Why", [Needed("Enter why it comes off again."), Length(max=300)])

    @property
    def old(self) -> OldPart | None:
        return OldPart(self.old_part.data) if self.old_part.data in list(OldPart) else None


class DeviationForm(House):
    """Why a reading that is no pass may stand."""

    deviation = StringField("Why it is acceptable", [Needed("Enter why it is acceptable."), Length(max=300)])


class CountForm(House):
    """What lies in tray and bags by class. A field is added for each figure that is due, see `with_counts`."""

    ends = IntegerField("Wire ends joined in here", [Optional(), NumberRange(0, 5000, COUNT)])
    looked = BooleanField("I looked inside: no strand, no solder, no piece that does not belong there")


class BaseForm(House):
    """A base verified pin to pin."""

    ends = IntegerField("Wire ends counted", [Needed("Count the wire ends at its pins."), NumberRange(0, 500, COUNT)])
    looked = BooleanField("I looked closely: no stray strand, no bridge, no end left out")


class TakeOverForm(House):
    """The second count, by the person who takes over."""

    note = TextAreaField("What explains a difference", [Optional(), Length(max=400)])
    secret = PasswordField("Your own PIN", [Needed("Enter your own PIN or password.")])


class HandoverForm(House):
    """The bench changes hands."""

    to = RadioField("Handed over to", [Needed("Tap who takes over.")], coerce=int, choices=[], validate_choice=False)
    note = TextAreaField("What explains a difference", [Optional(), Length(max=400)])


class ExplainForm(House):
    """What a found object turned out to be."""

    how = RadioField("It comes from", coerce=Explained, choices=options((one.value, one.word) for one in Explained),
                     default=Explained.PLACE)
    removal = RadioField("It belongs to", [Optional()], choices=[], validate_choice=False)
    other_removal = SelectField("Another place", [Optional()], choices=[], validate_choice=False)
    words = StringField("What shows that", [Optional(), Length(max=300)])

    def offer(self, proposed: Sequence[Proposal], off: Sequence[Removal]) -> None:
        self.removal.choices = options((str(one.removal_id), one.words) for one in proposed)
        self.other_removal.choices = options([("", "none of these"), *((str(one.id), one.title) for one in off)])

    def chosen(self, off: Sequence[Removal]) -> Removal | None:
        wanted = self.other_removal.data or self.removal.data
        return next((one for one in off if str(one.id) == wanted), None)


def with_counts(kind: type[House], figures: Iterable[tuple[K, str]]) -> tuple[type[Any], dict[str, K]]:
    """The form with a field of plus and minus for each (key, words) that is due; also field name → key. A blank is no count."""
    listed = list(figures)
    checks = [Needed(NO_FIGURE), NumberRange(0, 5000, COUNT)]
    fields = {f"piece_{number}": IntegerField(words, checks) for number, (_, words) in enumerate(listed)}
    return type(kind.__name__, (kind,), fields), {f"piece_{number}": key for number, (key, _) in enumerate(listed)}
