"""What people type about a drawing."""

from __future__ import annotations

from wtforms import FileField, TextAreaField
from wtforms.validators import Length

from app.drawings.spec import DrawingFacts, PinFacts
from app.kernel.form_fields import House, Needed
from app.kernel.spec_forms import asks


@asks(DrawingFacts)
class WordsForm(House):
    """What a drawing shows, and of which model."""


class AddForm(WordsForm):
    """The same, with its file."""

    file = FileField("Picture or PDF")


@asks(PinFacts)
class PinForm(House):
    """A note on a place."""


class WithdrawForm(House):
    """Why a drawing is withdrawn."""

    reason = TextAreaField("Why it is withdrawn", [Needed("Enter why the drawing is withdrawn."), Length(max=400)])
