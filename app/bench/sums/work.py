"""Working a sum out: from what was sent to the answer, or to what has to be entered differently."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.bench.sums import forms
from app.bench.sums.kinds import Answer, Sum
from app.electrics import ElectricsError
from app.kernel.form_fields import House


@dataclass(frozen=True)
class Worked:
    """A sum with what was entered and what it comes to; without an answer the form says why."""

    sum: Sum
    form: House
    typed: dict[str, str]
    answer: Answer | None


def work_out(one: Sum, sent: Mapping[str, str]) -> Worked:
    """Read the fields and answer."""
    form = forms.read(one, sent)
    answer = None
    if form.validate():
        try:
            answer = one.answer(forms.given(one, form))
        except ElectricsError as wrong:
            forms.blame(one, form, wrong)
    return Worked(one, form, forms.typed(one, form), answer)
