"""The forms of a sheet. A block's form is made of the fields that its kind asks."""

from __future__ import annotations

from functools import cache
from typing import Any

from wtforms import Field as FormField
from wtforms import SelectField, StringField
from wtforms.validators import Length, NumberRange, Optional

from app.circuits.models import AmpSheet, SheetBlock
from app.circuits.rules.blocks import FIELDS, Field, Given, Kind, Sheet
from app.circuits.spec import PrintedFacts, SheetFacts
from app.electrics import show
from app.kernel.form_fields import House, Needed, QuantityField, options
from app.kernel.spec_forms import asks, read_facts, shown
from app.kernel.speech import say

TOLERANCES = ("1", "2", "5", "10", "20")
PLACE, SHARE = "_place", "_tolerance"  # beside a part's value: where it sits, and its tolerance


@asks(SheetFacts)
class ConditionsForm(House):
    """How the amp is read, and whether the sheet is whole."""

    def facts(self) -> SheetFacts:
        """What was entered."""
        return read_facts(self, SheetFacts)

    @staticmethod
    def stored(sheet: AmpSheet) -> dict[str, Any]:
        """The fields of a sheet that stands."""
        return shown(sheet, SheetFacts)


@asks(PrintedFacts)
class PrintedForm(House):
    """Volts printed at a node."""

    def facts(self) -> PrintedFacts:
        """What was entered."""
        return read_facts(self, PrintedFacts)


class WithdrawForm(House):
    """Why a block is withdrawn."""

    reason = StringField("Why it is withdrawn", [Needed("Enter why the block is withdrawn."), Length(max=200)])


class BlockForm(House):
    """A block of one kind; `form_of` adds the fields that it asks. All but the name may stay empty: a sheet grows."""

    name = StringField("Name of the block", [Needed("Give the block a name, such as V1a or HT2."), Length(max=40)])

    def rows(self) -> list[tuple[Field, FormField, FormField | None, FormField | None]]:
        """Each field with its value, and of a part its place and tolerance."""
        fields = self.kind_fields
        return [(one, self[one.name], self[one.name + PLACE] if one.part else None, self[one.name + SHARE] if one.part else None)
                for one in fields]

    kind_fields: tuple[Field, ...] = ()

    def offer(self, sheet: Sheet, own: str) -> None:
        """The blocks that each wire may come from."""
        for one in self.kind_fields:
            if one.kinds:
                names = [block.name for block in sheet.of_kind(*one.kinds) if block.name != own]
                chosen = self[one.name].data
                if chosen and chosen not in names:
                    names.append(chosen)  # what was withdrawn since stays chosen until another is
                self[one.name].choices = options([("", "not entered"), *((name, name) for name in names)])

    def given(self) -> dict[str, Given]:
        """What was entered, in SI units."""
        return {one.name: self._given(one) for one in self.kind_fields}

    def _given(self, one: Field) -> Given:
        place = (self[one.name + PLACE].data or "").strip() if one.part else ""
        share = float(self[one.name + SHARE].data) / 100 if one.part and self[one.name + SHARE].data else None
        value = self[one.name].data
        return Given(value, "", place, share) if one.unit else Given(None, (value or "").strip(), place, share)


@cache
def form_of(kind: Kind) -> type[BlockForm]:
    """The form of a kind of block."""
    made: dict[str, Any] = {"kind_fields": FIELDS[kind]}
    for one in FIELDS[kind]:
        made[one.name] = _field(one)
        if one.part:
            made[one.name + PLACE] = StringField("Position", [Optional(), Length(max=60)])
            made[one.name + SHARE] = SelectField("Tolerance", choices=options(
                [("", f"usual, {one.usual:.0%}"), *((share, f"{share} %") for share in TOLERANCES)]))
    return type(f"{kind.name.title()}Form", (BlockForm,), made)


def _field(one: Field) -> Any:
    if one.unit:
        said = f"Enter {show(one.low, one.unit)} to {show(one.high, one.unit)}.".replace("-", "−")
        return QuantityField(one.label, [Optional(), NumberRange(one.low, one.high, said)], unit=one.unit)
    if one.choices:
        return SelectField(one.label, [Optional()], choices=options([("", "not entered"), *((word, word) for word in one.choices)]))
    if one.kinds:
        return SelectField(one.label, [Optional()], choices=[])
    return StringField(one.label, [Optional(), Length(max=40)])


def stored(block: SheetBlock) -> dict[str, Any]:
    """The fields of a block as they were entered."""
    found: dict[str, Any] = {"name": block.name}
    for value in block.values:
        found[value.field] = value.number if value.number is not None else value.word or None
        found[value.field + PLACE] = value.reference
        found[value.field + SHARE] = "" if value.tolerance is None else f"{value.tolerance * 100:g}"
    return found


def suggested(kind: Kind, sheet: Sheet) -> dict[str, Any]:
    """What a new block begins with: a free name, and the one block that may feed it, or the last that can."""
    found: dict[str, Any] = {"name": _name(kind, sheet)}
    for one in FIELDS[kind]:
        there = [block.name for block in sheet.of_kind(*one.kinds)] if one.kinds else []
        if there and one.begins:
            found[one.name] = there[0] if kind is Kind.OUTPUT else there[-1]
    return found


_NAMES = {Kind.MAINS: "mains", Kind.WINDING: "HT winding", Kind.RECTIFIER: "rectifier", Kind.BIAS: "bias",
          Kind.SPLITTER: "splitter", Kind.OUTPUT: "output", Kind.FEEDBACK: "feedback", Kind.HEATERS: "heaters"}


def _name(kind: Kind, sheet: Sheet) -> str:
    taken = {block.name.lower() for block in sheet.blocks}
    if kind in _NAMES:
        called = say(_NAMES[kind])
        tries = [called, *(f"{called} {number}" for number in range(2, 40))]
    elif kind is Kind.STAGE:
        tries = [f"V{number}{half}" for number in range(1, 20) for half in "ab"]
    else:
        tries = [f"HT{number}" for number in range(1, 40)]
    return next(one for one in tries if one.lower() not in taken)
