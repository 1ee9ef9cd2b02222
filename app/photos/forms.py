"""Adding, describing and striking photos."""

from __future__ import annotations

from typing import Any

from wtforms import MultipleFileField, RadioField, StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.kernel.form_fields import House, Needed, options
from app.kernel.numbers import IntegerField
from app.photos.models import Phase
from app.photos.rules import CAPTIONS, PLACES
from app.shop.queries import the_shop
from app.shop.wording import swap

PHASES = options((phase.value, phase.word) for phase in Phase)


class WordsForm(House):
    """What a photo shows: place and caption by chip, or in other words."""

    place = RadioField("Place", choices=[], validate_choice=False)
    other_place = StringField("Another place", [Optional(), Length(max=80)])
    phase = RadioField("When", coerce=Phase, choices=PHASES)
    caption = RadioField("Caption", [Optional()], choices=[], validate_choice=False)
    other_caption = StringField("In other words", [Optional(), Length(max=200)])

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer(())

    def offer(self, known: tuple[str, ...]) -> None:
        """The usual chips, after those that this order already uses."""
        pack = the_shop().wording
        places = dict.fromkeys((*known, *PLACES, *filter(None, [self.place.data])))
        captions = dict.fromkeys((*CAPTIONS, *filter(None, [self.caption.data])))
        self.place.choices = options((one, swap(one, pack)) for one in places)
        self.caption.choices = options((one, swap(one, pack)) for one in captions)

    @property
    def place_words(self) -> str:
        return str(self.other_place.data or self.place.data or "")

    @property
    def caption_words(self) -> str:
        return str(self.other_caption.data or self.caption.data or "")


class AddForm(WordsForm):
    """One or more photos of one place."""

    photos = MultipleFileField("Photos")
    same_view_as = IntegerField("The same view as photo", [Optional()])


class StrikeForm(House):
    """Why a photo is struck."""

    reason = TextAreaField("Why it is struck", [Needed("Enter why the photo is struck."), Length(max=400)])
