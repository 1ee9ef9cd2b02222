"""Forms of the way back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from wtforms import BooleanField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, NotationField, QuantityField, options
from app.kernel.numbers import IntegerField
from app.measuring.models import Instrument
from app.reassembly.queries.work import Proposal
from app.removals.models import Removal
from app.removals.rules import Explained

COUNT = "Enter a whole number, zero or more."
UNDONE = ("something must come out first", "a piece was left out", "it sits wrong", "tapped by mistake")


class Blank(Optional):  # type: ignore[misc]
    """May stay empty, which counts as nought; says no "optional" beside every counter."""

    def __init__(self) -> None:
        super().__init__()
        self.field_flags: dict[str, bool] = {}


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


class CountForm(House):
    """What is left in tray and bags by class. Fields are added for the classes of the job, see `for_pieces`."""

    looked = BooleanField("I looked inside: no strand, no solder, no piece that does not belong there")


class BaseForm(House):
    """A base verified pin to pin."""

    ends = IntegerField("Wire ends counted", [Needed("Count the wire ends at its pins."), NumberRange(0, 500, COUNT)])
    looked = BooleanField("I looked closely: no stray strand, no bridge, no end left out")


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


def with_counts(kind: type[House], pieces: Iterable[str], *, blank: bool = False) -> tuple[type[Any], dict[str, str]]:
    """The form with a field of plus and minus for each class; also field name → class."""
    names = {f"piece_{number}": piece for number, piece in enumerate(pieces)}
    checks = [Needed("Count them; enter 0 if there are none.") if blank else Blank(), NumberRange(0, 5000, COUNT)]
    return type(kind.__name__, (kind,), {name: IntegerField(piece, checks) for name, piece in names.items()}), names
