"""Moving an order."""

from __future__ import annotations

from wtforms import SelectField, StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.kernel.form_fields import House, Needed, options
from app.orders.stages import IN_ORDER, Stage


class MoveBackForm(House):
    """To which earlier stage, and why."""

    stage = SelectField("Back to", coerce=Stage)
    reason = TextAreaField("Why", [Needed("Enter why it goes back."), Length(max=2000)])

    def offer(self, here: Stage) -> None:
        """Only what lies before, one stage back first."""
        self.stage.choices = options((s.value, s.word) for s in reversed(IN_ORDER[: IN_ORDER.index(here)]))


class PowerUpForm(House):
    """Why the amp is put on power, and why although something speaks against it."""

    why = StringField("What it is powered for", [Needed("Enter what it is powered for."), Length(max=160)])
    reason = StringField("Why it is powered like this", [Optional(), Length(max=300)])
