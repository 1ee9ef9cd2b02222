"""What is asked about a contact, the mail server and a template."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from app.contact.rules import HOST, LONGEST_SUBJECT, How, Security, address_trouble, broken
from app.errors import BadInput
from app.kernel.spec import Choice, Day, Number, Text, asked, tidied, values


@dataclass(frozen=True)
class ContactFacts:
    """How they were reached or were not, where, what was said, and when to try next."""

    how: How = asked(Choice("What happened", "Choose what happened.", words=values(How)))
    reached_at: str = asked(Text("Number or address", longest=200), "")
    said: str = asked(Text("What was said", longest=4000, sort="lines"), "")
    next_on: date | None = asked(Day("Try again on", said=lambda day: day.isoformat() if day else None), None)

    def checked(self, today: date) -> ContactFacts:
        """Tidied; BadInput where nothing is said of what was, or the next try lies behind."""
        found = tidied(self)
        if not found.said and found.how not in (How.NO_ANSWER, How.VOICEMAIL):
            raise BadInput("Enter what was said or written.", "said")
        if found.next_on is not None and found.next_on < today:
            raise BadInput("Enter today or a later day.", "next_on")
        return found


@dataclass(frozen=True)
class ServerFacts:
    """Where the shop's mail goes out, and as whom."""

    host: str = asked(Text("Server", "Enter the name of the server, such as mail.shop.example.", longest=200))
    port: int = asked(Number("Port", "Enter the port.", low=1, high=65535, whole=True, wrong="Enter a port from 1 to 65535."))
    security: Security = asked(Choice("Encryption", None, words=values(Security), start=Security.STARTTLS))
    sender_address: str = asked(Text("Sender’s address", "Enter the address that messages come from.", longest=254, sort="email"))
    user_name: str = asked(Text("User name", longest=200), "")
    sender_name: str = asked(Text("Sender’s name", longest=120), "")
    most_megabytes: float = asked(Number("Largest message", low=0.1, high=100, wrong="Enter megabytes from 0.1 to 100."), 20.0)

    def checked(self) -> ServerFacts:
        """Tidied; BadInput for a server or an address that none can be."""
        found = tidied(self)
        if not HOST.fullmatch(found.host):
            raise BadInput("Enter the server’s name or address alone, such as mail.shop.example.", "host")
        if trouble := address_trouble(found.sender_address):
            raise BadInput(trouble, "sender_address")
        if broken(found.sender_name) or broken(found.user_name):
            raise BadInput("A character that cannot be seen stands in it. Type it again.", "sender_name")
        return found


@dataclass(frozen=True)
class TemplateFacts:
    """A message in the shop's words."""

    name: str = asked(Text("Name", "Enter a name for the template.", longest=80))
    subject: str = asked(Text("Subject", "Enter a subject.", longest=LONGEST_SUBJECT))
    body: str = asked(Text("Text", "Enter the text.", longest=8000, sort="lines"))
