"""The forms of board sheets."""

from __future__ import annotations

from typing import Any

from wtforms import RadioField, SelectField, StringField
from wtforms.validators import Length, NumberRange, Optional, ValidationError

from app.boards.models import Board, BoardPosition
from app.boards.rules import BoardKind, Fate, PartKind, Reason
from app.boards.service import BoardFacts, PositionFacts
from app.electrics import ElectricsError, colour_code, parse, show
from app.kernel.form_fields import House, Needed, blank, options
from app.kernel.numbers import FloatField, IntegerField
from app.photos.models import Photo

TOLERANCES = ("1", "2", "5", "10", "20")


class BoardForm(House):
    """A board and the meter that its parts are read with."""

    name = StringField("Name", [Needed("Give the board a name."), Length(max=60)])
    kind = RadioField("Kind", [Needed("Choose what kind of board it is.")], coerce=BoardKind,
                      choices=options((one.value, one.value) for one in BoardKind))
    photo_id = SelectField("Photo of it", [Optional()], coerce=blank(int), choices=[])
    meter = StringField("Meter", [Optional(), Length(max=120)])
    meter_percent = FloatField("Its accuracy", [Needed("Enter the accuracy in per cent of reading, 1 for instance."),
                                                NumberRange(0, 20, "Enter per cent from 0 to 20.")])

    def offer(self, photos: list[Photo]) -> None:
        """The order's photos."""
        self.photo_id.choices = options([("", "none"), *((str(one.id), f"{one.id}: {one.words}") for one in photos)])

    def facts(self) -> BoardFacts:
        return BoardFacts(self.name.data or "", self.kind.data, self.photo_id.data, self.meter.data or "",
                          float(self.meter_percent.data or 0))

    @staticmethod
    def stored(board: Board) -> dict[str, Any]:
        return {name: getattr(board, name) for name in ("name", "kind", "photo_id", "meter", "meter_percent")}


class PositionForm(House):
    """One position. Values are typed as at the bench; the unit follows from the part."""

    reference = StringField("Position", [Needed("Give the position a reference, R1 for instance."), Length(max=20)])
    kind = RadioField("Part", [Needed("Choose what part it is.")], coerce=PartKind,
                      choices=options((one.value, one.value) for one in PartKind))
    bands = StringField("Bands", [Optional(), Length(max=80)])
    nominal = StringField("Value", [Optional(), Length(max=20)])
    tolerance = RadioField("Tolerance", [Optional()], validate_choice=False,
                           choices=options((one, f"{one} %") for one in TOLERANCES))
    measured_out = StringField("Read out of circuit", [Optional(), Length(max=20)])
    measured_in = StringField("Read in circuit", [Optional(), Length(max=20)])
    fate = RadioField("Disposition", [Optional()], coerce=blank(Fate), choices=options((one.value, one.value) for one in Fate))
    reason = RadioField("Because", [Optional()], coerce=blank(Reason),
                        choices=options((one.value, one.value) for one in Reason))
    new_part = StringField("New part", [Optional(), Length(max=120)])
    note = StringField("Note", [Optional(), Length(max=200)])
    photo_id = IntegerField("Photo", [Optional()])
    pin_x = FloatField("Across", [Optional(), NumberRange(0, 1, "A pin lies on the picture.")])
    pin_y = FloatField("Down", [Optional(), NumberRange(0, 1, "A pin lies on the picture.")])

    def validate_nominal(self, field: StringField) -> None:
        self._value(field)

    def validate_measured_out(self, field: StringField) -> None:
        self._value(field)

    def validate_measured_in(self, field: StringField) -> None:
        self._value(field)

    def validate_bands(self, field: StringField) -> None:
        try:
            read = colour_code(field.data)
        except ElectricsError as wrong:
            raise ValidationError(f"These bands mean nothing together: {wrong}.") from wrong
        typed = self._value(self.nominal)
        if typed is not None and typed != read.ohm:
            raise ValidationError(f"The bands say {show(read.ohm, unit='ohm')}, the value below says otherwise. Clear one.")

    def validate_tolerance(self, field: RadioField) -> None:
        try:
            share = float(field.data)
        except ValueError:
            share = 0
        if not 0 < share < 100:
            raise ValidationError("Choose a tolerance.")

    def _value(self, field: StringField) -> float | None:
        kind = self.kind.data
        if not (field.data or "").strip() or not isinstance(kind, PartKind):
            return None
        if not kind.unit:
            raise ValidationError(f"A {kind.value} has no value to enter.")
        try:
            return parse(field.data, unit=kind.unit)
        except ElectricsError as wrong:
            raise ValidationError(str(wrong)) from wrong

    def facts(self) -> PositionFacts:
        """What was entered. Bands say value and tolerance: the chip may still stand where the last position left it."""
        nominal = self._value(self.nominal)
        tolerance = float(self.tolerance.data) / 100 if self.tolerance.data else None
        if self.bands.data:
            read = colour_code(self.bands.data)
            nominal, tolerance = read.ohm, read.tolerance
        return PositionFacts(
            reference=self.reference.data or "", kind=self.kind.data, nominal=nominal, tolerance=tolerance,
            measured_out=self._value(self.measured_out), measured_in=self._value(self.measured_in),
            fate=self.fate.data, reason=self.reason.data, new_part=self.new_part.data or "", note=self.note.data or "")

    @staticmethod
    def stored(position: BoardPosition) -> dict[str, Any]:
        found = {name: getattr(position, name) for name in ("reference", "kind", "fate", "reason", "new_part", "note")}
        values = {name: position.said(getattr(position, name)) for name in ("nominal", "measured_out", "measured_in")}
        return {**found, **values, "tolerance": "" if position.tolerance is None else f"{position.tolerance * 100:g}"}
