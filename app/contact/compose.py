"""A message as it goes over the wire (RFC 5322, MIME): seven bits, line ends CRLF, no header that something typed could begin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from app.contact.rules import broken
from app.errors import BadInput

POLICY = SMTP.clone(cte_type="7bit")  # a server need not know 8BITMIME (RFC 6152)


@dataclass(frozen=True)
class Paper:
    """A file that goes along: its name, media type and bytes."""

    name: str
    media_type: str
    data: bytes


@dataclass(frozen=True)
class Letter:
    """All that a message is made of. `sender` and `to`: name, which may be empty, and address."""

    message_id: str
    sender: tuple[str, str]
    to: tuple[str, str]
    subject: str
    body: str
    at: datetime
    papers: Sequence[Paper] = ()


def composed(letter: Letter) -> bytes:
    """Its bytes. BadInput where a header would not stay one line."""
    for words, field in ((letter.subject, "subject"), (letter.to[0], "to"), (letter.to[1], "to"), (letter.sender[0], "sender_name"),
                         (letter.sender[1], "sender_address"), *((paper.name, "papers") for paper in letter.papers)):
        if broken(words):
            raise BadInput("A line end or a character that cannot be seen stands in it. Type it again.", field)
    made = EmailMessage(policy=POLICY)
    made["From"], made["To"], made["Subject"] = _address(*letter.sender), _address(*letter.to), letter.subject
    made["Date"], made["Message-ID"] = format_datetime(letter.at), f"<{letter.message_id}>"
    made.set_content(letter.body.replace("\r\n", "\n").rstrip("\n") + "\n")
    for paper in letter.papers:
        kind, _, sub = paper.media_type.partition("/")
        made.add_attachment(paper.data, maintype=kind, subtype=sub, filename=paper.name)
    return made.as_bytes()


def _address(name: str, address: str) -> Address:
    return Address(display_name=name, addr_spec=address)
