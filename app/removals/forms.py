"""Forms of the removal ledger. Counting is by plus and minus; places, bags and what it was under are tapped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from wtforms import (
    BooleanField,
    MultipleFileField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, options
from app.kernel.numbers import FloatField, IntegerField
from app.removals.models import Removal
from app.removals.rules import FASTENERS, Fate, Kind, OldPart, Side, Went, fold, read_counts, read_ends, read_stack, say_counts
from app.removals.service.record import Facts
from app.shop.queries import the_shop
from app.shop.wording import swap

NUMBER_WORDS = "Enter a whole number, zero or more."


class Blank(Optional):  # type: ignore[misc]
    """May stay empty, which counts as nought; says no "optional" beside every counter."""

    def __init__(self) -> None:
        super().__init__()
        self.field_flags: dict[str, bool] = {}


def _slug(piece: str) -> str:
    return "count_" + piece.replace(" ", "_").replace("-", "_")


def _spoken(pairs: Iterable[tuple[Any, str]]) -> Any:
    """Choices in the shop's own words."""
    pack = the_shop().wording
    return options((value, swap(word, pack)) for value, word in pairs)


class FateFields(House):
    """What becomes of it."""

    fate = RadioField("Disposition", coerce=Fate, default=Fate.REFIT, choices=options((one.value, one.word) for one in Fate))
    old_part = RadioField("The old one goes", [Optional()], validate_choice=False,
                          choices=options((one.value, one.word) for one in OldPart))
    fate_reason = StringField("Why", [Optional(), Length(max=300)])

    @property
    def old(self) -> OldPart | None:
        return OldPart(self.old_part.data) if self.old_part.data in list(OldPart) else None


class RemovalForm(FateFields):
    """What came off. `offer` fills what can be tapped from what is off already."""

    mark = StringField("Tag", [Needed("Enter what its tag says, for example P1."), Length(max=20)])
    name = StringField("What came off", [Optional(), Length(max=120)])
    kind = RadioField("Kind", coerce=Kind, default=Kind.PART, choices=[])
    side = RadioField("Side", [Optional()], validate_choice=False,
                      choices=options((one.value, one.value) for one in Side))
    place = RadioField("Place", [Optional()], choices=[], validate_choice=False)
    other_place = StringField("Another place", [Optional(), Length(max=80)])
    unit = RadioField("Sub-assembly", [Optional()], choices=[], validate_choice=False)
    other_unit = StringField("Another sub-assembly", [Optional(), Length(max=80)])
    stack = TextAreaField("Stack, outer to inner", [Optional(), Length(max=1000)])
    other_pieces = TextAreaField("Another size or kind", [Optional(), Length(max=600)])
    thread = StringField("Thread and length", [Optional(), Length(max=80)])  # of before pieces were counted by their size
    under = SelectMultipleField("Had to come off first", choices=[], validate_choice=False)
    fixed_to = StringField("Fixed or soldered to", [Optional(), Length(max=60)])
    ends = TextAreaField("Wire ends lifted", [Optional(), Length(max=1000)])
    bag = StringField("Bag or tray", [Optional(), Length(max=60)])
    stays_on_loom = BooleanField("The part itself stays on its loom")
    keyed = BooleanField("It has a keyway, a tab or a polarity")
    orientation = StringField("Orientation", [Optional(), Length(max=200)])
    lacked = StringField("Missing or wrong when it came off", [Optional(), Length(max=300)])
    minutes = FloatField("Minutes to put it back", [Optional(), NumberRange(0, 6000, "Enter minutes, zero or more.")])
    unattended_minutes = FloatField("Minutes it then dries or cures",
                                    [Optional(), NumberRange(0, 60000, "Enter minutes, zero or more.")])
    note = StringField("Note", [Optional(), Length(max=400)])
    photos = MultipleFileField("Photos")
    photo_id = IntegerField("Photo", [Optional()])
    pin_x = FloatField("Across", [Optional(), NumberRange(0, 1, "A pin lies on the picture.")])
    pin_y = FloatField("Down", [Optional(), NumberRange(0, 1, "A pin lies on the picture.")])
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

    def offer(self, off: Sequence[Removal], removal: Removal | None = None) -> None:
        """Chips from what is off: places and sub-assemblies named before, and what this one may have been under."""
        others = [one for one in reversed(off) if removal is None or one.id != removal.id]
        self.kind.choices = _spoken((one.value, one.word) for one in Kind)
        for field, names in ((self.place, [one.place for one in others]), (self.unit, [one.unit for one in others])):
            known = dict.fromkeys(filter(None, [*names, field.data]))
            field.choices = options([("", "none"), *((one, one) for one in known)])
            field.data = field.data or ""
        self.under.choices = options((one.mark, one.title) for one in others)
        self.hosts = list(dict.fromkeys(filter(None, [*(one.fixed_to for one in others), *(one.mark for one in others)])))
        self.under.data = self.under.data or []

    def show(self, facts: Facts) -> None:
        """Fill the form with what is recorded."""
        for name in ("name", "kind", "place", "unit", "thread", "fixed_to", "bag", "stays_on_loom", "keyed", "orientation",
                     "fate", "fate_reason", "note"):
            getattr(self, name).data = getattr(facts, name)
        self.side.data = facts.side.value if facts.side else None
        self.old_part.data = facts.old_part.value if facts.old_part else None
        self.minutes.data, self.unattended_minutes.data = facts.minutes or None, facts.unattended_minutes or None
        self.under.data = list(facts.under)
        self.stack.data = "\n".join(facts.stack)
        self.ends.data = "\n".join(end.text for end in facts.ends)
        self.lacked.data = say_counts(facts.lacked)
        for piece in FASTENERS:
            self[_slug(piece)].data = facts.fasteners.get(piece) or None
        self.other_pieces.data = "\n".join(f"{count} {name}" for name, count in facts.fasteners.items() if name not in FASTENERS)

    @property
    def name_words(self) -> str:
        """What was typed, else its kind; "part" alone says nothing."""
        return fold(self.name.data) or ("" if self.kind.data is Kind.PART else self.kind.data.word)

    @property
    def counters(self) -> list[Any]:
        """The fields with plus and minus."""
        return [self[_slug(piece)] for piece in FASTENERS]

    def facts(self, photo_id: int | None = None) -> Facts:
        """What was entered. BadInput names the field that cannot be read."""
        pieces = {piece: self[_slug(piece)].data or 0 for piece in FASTENERS}
        for name, count in read_counts(self.other_pieces.data or "", "other_pieces").items():
            pieces[name] = pieces.get(name, 0) + count
        return Facts(
            name=self.name_words, kind=self.kind.data, side=Side(self.side.data) if self.side.data in list(Side) else None,
            place=fold(self.other_place.data) or self.place.data or "", unit=fold(self.other_unit.data) or self.unit.data or "",
            fixed_to=self.fixed_to.data or "", under=tuple(self.under.data or ()), stack=read_stack(self.stack.data or ""),
            fasteners=pieces, thread=self.thread.data or "", lacked=read_counts(self.lacked.data or "", "lacked"),
            ends=read_ends(self.ends.data or ""), keyed=bool(self.keyed.data), orientation=self.orientation.data or "",
            stays_on_loom=bool(self.stays_on_loom.data), bag=self.bag.data or "", fate=self.fate.data, old_part=self.old,
            fate_reason=self.fate_reason.data or "", minutes=self.minutes.data or 0.0,
            unattended_minutes=self.unattended_minutes.data or 0.0, note=self.note.data or "", photo_id=photo_id)


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
