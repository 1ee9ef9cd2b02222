"""The verdict on a come-back."""

from __future__ import annotations

from wtforms import BooleanField, RadioField, TextAreaField
from wtforms.validators import Length

from app.intake.come_back_rules import WHY, Judgement, Payer, Verdict
from app.kernel.form_fields import House, Needed, options


class VerdictForm(House):
    """What the fault has to do with the earlier repair, who pays, and on what that rests."""

    verdict = RadioField("Verdict", coerce=Verdict, choices=options((one.value, one.value) for one in Verdict))
    payer = RadioField("Who pays", coerce=Payer, choices=options((one.value, one.value) for one in Payer), default=Payer.SHOP)
    compared = BooleanField("Compared with the readings as left and with what was declined then")
    reasoning = TextAreaField("Reasoning", [Needed(WHY), Length(max=4000)])

    def judgement(self) -> Judgement:
        return Judgement(self.verdict.data, self.payer.data, bool(self.compared.data), self.reasoning.data or "")
