"""Forms of the list of what could not be matched."""

from __future__ import annotations

from collections.abc import Iterable

from wtforms import BooleanField, SelectField, TextAreaField
from wtforms.validators import Length

from app.kernel.form_fields import House, Needed, options
from app.orders.names import Named


class MatchForm(House):
    """What the words mean."""

    chosen = SelectField("It names", [Needed("Choose what it names.")], choices=[], validate_choice=False)

    def offer(self, choices: Iterable[Named]) -> None:
        self.chosen.choices = options([("", "choose"), *((f"{one.kind} {one.id}", one.title) for one in choices)])


class SetAsideForm(House):
    """Why it names nothing."""

    reason = TextAreaField("Why it is set aside", [Needed("Enter why it is set aside."), Length(max=400)])
    alike = BooleanField("Every other entry of the same words too")
