"""What people type about a contact, a message, the mail server and a template."""

from __future__ import annotations

from collections.abc import Iterable

from wtforms import EmailField, PasswordField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import Length, Optional

from app.contact.rules import LONGEST_SUBJECT, megabytes
from app.contact.service.outbox import Draft
from app.contact.spec import ContactFacts, ServerFacts, TemplateFacts
from app.documents.models import IssuedDocument
from app.kernel.form_fields import House, Needed, options
from app.kernel.spec_forms import asks


@asks(ContactFacts)
class ContactForm(House):
    """How they were reached, where, and what was said."""


class StrikeForm(House):
    """Why something is struck out or withdrawn."""

    reason = StringField("Reason", [Needed("Enter the reason."), Length(max=400)])


class MessageForm(House):
    """A message to one customer."""

    to = EmailField("To", [Needed("Enter the address it goes to."), Length(max=1000)])
    subject = StringField("Subject", [Needed("Enter a subject."), Length(max=LONGEST_SUBJECT)])
    body = TextAreaField("Text", [Needed("Enter the text."), Length(max=20_000)])
    papers = SelectMultipleField("Papers that go along", [Optional()], coerce=int)

    def offer(self, papers: Iterable[IssuedDocument]) -> None:
        """The issued papers of the repair, each with its size."""
        self.papers.choices = options((one.id, f"{one.title}, {megabytes(one.size)}") for one in papers)

    def draft(self, papers: Iterable[IssuedDocument]) -> Draft:
        """What was entered; addresses with commas or blanks between."""
        chosen = set(self.papers.data or ())
        return Draft(tuple((self.to.data or "").replace(",", " ").split()), self.subject.data or "", self.body.data or "",
                     tuple(one for one in papers if one.id in chosen))


@asks(ServerFacts)
class ServerForm(House):
    """Where mail goes out."""


class PasswordForm(House):
    """The password of the mail server; empty takes it away."""

    server_password = PasswordField("Password of the mail server", [Optional(), Length(max=400)])


@asks(TemplateFacts)
class TemplateForm(House):
    """A message in the shop's words."""
