"""Working a sum out: from what was sent to the answer, or to what has to be entered differently."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.bench.sums import forms
from app.bench.sums.kinds import Answer, Field, Sum
from app.electrics import ElectricsError
from app.kernel.form_fields import House

MINE = "mine"  # sent as "yes": the values that the page suggested are the user's own


@dataclass(frozen=True)
class Worked:
    """A sum with what was entered and what it comes to; without an answer the form says why.

    examples: the fields that still hold what the page suggested. As long as there is one, the answer is an example too: it has no
    verdict, and is not kept. mine: the user took the suggested values for their own.
    """

    sum: Sum
    form: House
    typed: dict[str, str]
    answer: Answer | None
    examples: tuple[Field, ...] = ()
    mine: bool = False

    @property
    def untouched(self) -> bool:
        """Whether nothing was entered yet."""
        return self.examples == self.sum.examples({field.name: field.default for field in self.sum.fields})

    @property
    def address(self) -> dict[str, str]:
        """What opens this sum again as it stands."""
        return self.typed | ({MINE: "yes"} if self.mine else {})

    def opens(self, fields: Sequence[Field]) -> bool:
        """Whether a folded part of the form stands open: something in it was entered, or wants another look."""
        return any(self.typed[field.name] != field.default or self.form[field.name].errors for field in fields)


def work_out(one: Sum, sent: Mapping[str, str], usual: Mapping[str, str] | None = None) -> Worked:
    """Read the fields and answer. usual: what the shop has for fields that were not sent."""
    form = forms.read(one, {**(usual or {}), **sent})
    answer = None
    if form.validate():
        try:
            answer = one.answer(forms.given(one, form))
        except ElectricsError as wrong:
            forms.blame(one, form, wrong)
    typed, mine = forms.typed(one, form), sent.get(MINE) == "yes"
    return Worked(one, form, typed, answer, () if mine else one.examples(typed), mine)
