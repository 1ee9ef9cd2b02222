"""The shop's own terms, in one field."""

from __future__ import annotations

from wtforms import StringField, TextAreaField
from wtforms.validators import Length

from app.intake.service.terms import Edition
from app.intake.terms.paragraphs import paragraphs_in
from app.kernel.form_fields import DayField, House, Needed


class ShopTermsForm(House):
    """The text, and when and against what it was checked."""

    text = TextAreaField("Terms", [Needed("Write at least one paragraph."), Length(max=20000)])
    checked_on = DayField("Checked on", [Needed("Enter the day on which you checked them.")])
    checked_against = StringField("Checked against what, by whom", [
        Needed("Enter what these terms were held against, and by whom."), Length(max=400)])

    def edition(self) -> Edition:
        """What was written; BadInput beside the text if it has a head without a text."""
        return Edition(paragraphs_in(self.text.data or ""), self.checked_on.data, self.checked_against.data or "")
