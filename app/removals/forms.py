"""Forms of the removal ledger. Counting is by plus and minus; places, bags and what it was under are tapped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from wtforms import (
    MultipleFileField,
    RadioField,
    SelectField,
    StringField,
    TextAreaField,
)
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, options
from app.kernel.numbers import IntegerField
from app.kernel.spec_forms import asks, read_facts, shown
from app.removals.models import Removal
from app.removals.rules import FASTENERS, Kind, Went, fold, read_counts
from app.removals.spaces import CLOSES_NOTHING
from app.removals.spec import RemovalFacts, Shown, Tagged
from app.removals.usual import cavity_of
from app.shop.queries import the_shop
from app.shop.wording import swap

NUMBER_WORDS = "Enter a whole number, zero or more."


class Blank(Optional):  # type: ignore[misc]
    """May stay empty, which counts as nought; says no "optional" beside every counter."""

    def __init__(self) -> None:
        super().__init__()
        self.field_flags: dict[str, bool] = {}


AS_USUAL = "as usual"


def _slug(piece: str) -> str:
    return "count_" + piece.replace(" ", "_").replace("-", "_")


@asks(RemovalFacts, only=("fate", "old_part", "fate_reason"))
class FateFields(House):
    """What becomes of it."""


@asks(Shown)
@asks(RemovalFacts)
@asks(Tagged)
class RemovalForm(House):
    """What came off. `offer` fills what can be tapped from what is off already."""

    feeds = {"other_place": "place", "other_unit": "unit", "other_cavity": "cavity", "other_pieces": "fasteners",
             **{_slug(piece): "fasteners" for piece in FASTENERS}}
    other_place = StringField("Another place", [Optional(), Length(max=80)])
    other_unit = StringField("Another sub-assembly", [Optional(), Length(max=80)])
    other_cavity = StringField("Another cavity", [Optional(), Length(max=80)])
    other_pieces = TextAreaField("Another size or kind", [Optional(), Length(max=600)])
    count_screw = IntegerField("screw", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_bolt = IntegerField("bolt", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_nut = IntegerField("nut", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_flat_washer = IntegerField("flat washer", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_spring_washer = IntegerField("spring washer", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_toothed_washer = IntegerField("toothed washer", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_lock_nut = IntegerField("lock-nut", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_grommet = IntegerField("grommet", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])
    count_clip = IntegerField("clip", [Blank(), NumberRange(0, 200, NUMBER_WORDS)])

    hosts: list[str]
    off: Sequence[Removal] = ()

    def offer(self, off: Sequence[Removal], cavities: Sequence[str], removal: Removal | None = None) -> None:
        """Chips from what is off: places, sub-assemblies and cavities named before, and what this one may have been under."""
        self.off = off
        others = [one for one in reversed(off) if removal is None or one.id != removal.id]
        own = [] if removal is None else [("", "none")]
        named = dict.fromkeys([*cavities, *filter(None, [self.cavity.data if self.cavity.data != AS_USUAL else ""])])
        self.cavity.choices = options([(AS_USUAL, "as its kind usually lies"), *own, *((one, one) for one in named)])
        self.cavity.data = self.cavity.data if self.cavity.data is not None else "" if removal else AS_USUAL
        closed = dict.fromkeys([*cavities, *filter(None, [self.closes.data])])
        self.closes.choices = options([("", "not said"), *((one, one) for one in closed if one != CLOSES_NOTHING),
                                       (CLOSES_NOTHING, CLOSES_NOTHING)])
        self.closes.data = self.closes.data or ""
        for field, names in ((self.place, [one.place for one in others]), (self.unit, [one.unit for one in others])):
            known = dict.fromkeys(filter(None, [*names, field.data]))
            field.choices = options([("", "none"), *((one, one) for one in known)])
            field.data = field.data or ""
        self.under.choices = options((one.mark, one.title) for one in others)
        self.hosts = list(dict.fromkeys(filter(None, [*(one.fixed_to for one in others), *(one.mark for one in others)])))
        self.under.data = self.under.data or []

    def show(self, facts: RemovalFacts) -> None:
        """Fill the form with what is recorded."""
        for name, value in shown(facts, RemovalFacts).items():
            self[name].data = value
        wording = the_shop().wording
        self.ends.data = "\n".join(replace(end, carries=swap(end.carries, wording)).text for end in facts.ends)
        self.stack_times.data = facts.stack_times if facts.stack_times > 1 else None
        self.minutes.data, self.unattended_minutes.data = facts.minutes or None, facts.unattended_minutes or None
        for piece in FASTENERS:
            self[_slug(piece)].data = facts.fasteners.get(piece) or None
        self.other_pieces.data = "\n".join(f"{count} {name}" for name, count in facts.fasteners.items() if name not in FASTENERS)

    @property
    def name_words(self) -> str:
        """What was typed, else its kind; "part" alone says nothing."""
        return fold(self.name.data) or ("" if self.kind.data is Kind.PART else self.kind.data.word)

    @property
    def cavity_words(self) -> str:
        """The cavity that was typed or tapped; else where the last of its kind lay, or such a thing usually does."""
        said = fold(self.other_cavity.data) or self.cavity.data or ""
        return cavity_of(self.kind.data, self.under.data or (), self.off) if said == AS_USUAL else said

    @property
    def counters(self) -> list[Any]:
        """The fields with plus and minus."""
        return [self[_slug(piece)] for piece in FASTENERS]

    def facts(self, photo_id: int | None = None) -> RemovalFacts:
        """What was entered. BadInput names the field that cannot be read."""
        pieces = {piece: self[_slug(piece)].data or 0 for piece in FASTENERS}
        for name, count in read_counts(self.other_pieces.data or "", "other_pieces").items():
            pieces[name] = pieces.get(name, 0) + count
        return read_facts(
            self, RemovalFacts, name=self.name_words, place=fold(self.other_place.data) or self.place.data or "",
            cavity=self.cavity_words, unit=fold(self.other_unit.data) or self.unit.data or "", fasteners=pieces, photo_id=photo_id)


class AgainForm(House):
    """The next of a row of equals."""

    mark = StringField("Its tag", [Needed("Enter what its tag says."), Length(max=20)])


class ReasonForm(House):
    """Why something is taken back."""

    reason = TextAreaField("Why", [Needed("Enter why."), Length(max=400)])


class PlacedForm(House):
    """Something at a place of this amp, or at none that is known."""

    removal = SelectField("For which place", [Optional()], choices=[], validate_choice=False)

    def offer(self, off: Sequence[Removal], none: str) -> None:
        self.removal.choices = options([("", none), *((str(one.id), one.title) for one in off)])

    def chosen(self, off: Sequence[Removal]) -> Removal | None:
        return next((one for one in off if str(one.id) == self.removal.data), None)


class PiecesForm(PlacedForm):
    """Some pieces of one class, and where they went."""

    piece = StringField("What", [Needed("Enter what kind of piece."), Length(max=60)])
    count = IntegerField("How many", [Needed("Enter how many."), NumberRange(1, 500, "Enter how many, one or more.")], default=1)
    went = RadioField("They are", coerce=Went, default=Went.ISSUED, choices=options((one.value, one.word) for one in Went))
    note = StringField("Note", [Optional(), Length(max=200)])


class FoundForm(House):
    """A loose thing that turned up."""

    piece = StringField("What it is", [Needed("Enter what it is, for example toothed washer."), Length(max=60)])
    place = StringField("Where it lay", [Optional(), Length(max=120)])
    note = StringField("Note", [Optional(), Length(max=300)])
    photos = MultipleFileField("Photo")


class LostForm(PlacedForm):
    """A piece that got lost."""

    piece = StringField("What is lost", [Needed("Enter what is lost, for example lock-nut."), Length(max=60)])
    circumstances = StringField("What happened", [Optional(), Length(max=300)])


class FoundAgainForm(House):
    """It turned up."""

    where = StringField("Where it lay", [Needed("Enter where it lay."), Length(max=200)])


class SearchForm(House):
    """How it was searched for, in vain."""

    how = TextAreaField("How it was searched for",
                        [Needed("Enter how it was searched for: magnet, shaking out, mirror, air."), Length(max=400)])
