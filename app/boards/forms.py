"""The forms of board sheets."""

from __future__ import annotations

from typing import Any

from wtforms import Field, StringField
from wtforms.validators import Length, Optional, ValidationError

from app.boards.models import Board, BoardPosition
from app.boards.rules import PartKind
from app.boards.spec import BoardFacts, PositionFacts, said
from app.electrics import ElectricsError, colour_code, show
from app.kernel.form_fields import House, in_si, options
from app.kernel.spec_forms import asks, read_facts, shown
from app.photos.models import Photo
from app.photos.spec import Pinned


@asks(BoardFacts)
class BoardForm(House):
    """A board and the meter that its parts are read with."""

    def offer(self, photos: list[Photo]) -> None:
        """The order's photos."""
        self.photo_id.choices = options([("", "none"), *((str(one.id), f"{one.id}: {one.words}") for one in photos)])

    def facts(self) -> BoardFacts:
        return read_facts(self, BoardFacts)

    @staticmethod
    def stored(board: Board) -> dict[str, Any]:
        return shown(board, BoardFacts)


@asks(Pinned)
@asks(PositionFacts)
class PositionForm(House):
    """One position. Values are typed as at the bench; the unit follows from the part."""

    feeds = {"bands": "nominal"}
    bands = StringField("Bands", [Optional(), Length(max=80)])

    def validate_nominal(self, field: Field) -> None:
        self._has_value(field)

    def validate_measured_out(self, field: Field) -> None:
        self._has_value(field)

    def validate_measured_in(self, field: Field) -> None:
        self._has_value(field)

    def _has_value(self, field: Field) -> None:
        kind = self.kind.data
        if (field.data or "").strip() and isinstance(kind, PartKind) and not kind.unit:
            raise ValidationError(f"A {kind.value} has no value to enter.")

    def validate_bands(self, field: Field) -> None:
        try:
            read = colour_code(field.data)
        except ElectricsError as wrong:
            raise ValidationError(f"These bands mean nothing together: {wrong}.") from wrong
        typed = in_si(self.nominal, self.kind.data)
        if typed is not None and typed != read.ohm:
            raise ValidationError(f"The bands say {show(read.ohm, unit='ohm')}, the value below says otherwise. Clear one.")

    def validate_tolerance(self, field: Field) -> None:
        try:
            share = float(field.data)
        except ValueError:
            share = 0
        if not 0 < share < 100:
            raise ValidationError("Choose a tolerance.")

    def facts(self) -> PositionFacts:
        """What was entered. Bands say value and tolerance: the chip may still stand where the last position left it."""
        tolerance = float(self.tolerance.data) / 100 if self.tolerance.data else None
        if self.bands.data:
            read = colour_code(self.bands.data)
            return read_facts(self, PositionFacts, nominal=read.ohm, tolerance=read.tolerance)
        return read_facts(self, PositionFacts, tolerance=tolerance)

    @staticmethod
    def stored(position: BoardPosition) -> dict[str, Any]:
        values = {name: said(getattr(position, name), position.kind.unit) for name in ("nominal", "measured_out", "measured_in")}
        tolerance = "" if position.tolerance is None else f"{position.tolerance * 100:g}"
        return {**shown(position, PositionFacts), **values, "tolerance": tolerance}
