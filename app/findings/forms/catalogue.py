"""The form of a usual finding."""

from __future__ import annotations

from typing import Any

from app.findings.spec import UsualFacts
from app.findings.usual import Usual
from app.kernel.form_fields import House
from app.kernel.spec import tidied
from app.kernel.spec_forms import asks, read_facts, shown


@asks(UsualFacts)
class UsualForm(House):
    """A usual finding as the shop says it."""

    def entry(self) -> Usual:
        """What was entered."""
        return tidied(read_facts(self, Usual))

    @staticmethod
    def stored(entry: Usual) -> dict[str, Any]:
        return shown(entry, Usual)
