"""Two records that are one customer, or one amp."""

from __future__ import annotations

from collections.abc import Iterable

from wtforms import RadioField, TextAreaField
from wtforms.validators import Length

from app.kernel.form_fields import House, Needed, options


class MergeForm(House):
    """Which record is the same, and how one knows."""

    double_id = RadioField("The same as", coerce=int)
    reason = TextAreaField("How you know that both are the same", [Needed("Enter how you know that both are the same."),
                                                                   Length(max=1000)])

    def offer(self, others: Iterable[tuple[int, str]]) -> None:
        """The other records, each with what tells it apart."""
        self.double_id.choices = options(others)
