"""What the owner enters about personal data."""

from __future__ import annotations

from typing import Any

from wtforms import StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional, ValidationError

from app.kernel.form_fields import House, Needed
from app.kernel.numbers import IntegerField
from app.personal.rules.replacing import LEAST_WORD
from app.personal.service import Wish


class EraseForm(House):
    """Why a person is erased, what else they are called, and what the records cannot say."""

    why = StringField("Why", [Needed("Enter why: the person asked for it, or the time for keeping is over."), Length(max=200)])
    further = TextAreaField("Other ways in which they are named, one a line", [Optional(), Length(max=1000)])
    paper_years = IntegerField("Keep bills and quotes for", [Optional(), NumberRange(0, 40, "Enter years from 0 to 40.")])
    settled_words = StringField("How the unpaid sum was settled, and when", [Optional(), Length(max=400)])
    typed_name = StringField("Their name, to confirm", [Needed("Enter the name as it stands above.")])

    def wish(self) -> Wish:
        """What was entered."""
        return Wish(self.why.data or "", tuple(one for one in map(str.strip, (self.further.data or "").splitlines()) if one),
                    self.paper_years.data, self.settled_words.data or "")

    def validate_further(self, field: Any) -> None:
        short = [one.strip() for one in (field.data or "").splitlines() if 0 < len(one.strip()) < LEAST_WORD]
        if short:
            raise ValidationError(f"“{short[0]}” is too short to be told from other words. Enter {LEAST_WORD} letters or more.")
