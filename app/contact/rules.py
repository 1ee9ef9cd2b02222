"""How somebody was reached, what an address and a subject may hold, when a message is tried again. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from enum import StrEnum

MEGABYTE = 1_000_000
LONGEST_ADDRESS = 254  # RFC 5321, 4.5.3.1.3: a path has 256 octets, its two angle brackets among them
LONGEST_SUBJECT = 200
# A dot-atom on both sides of the sign, RFC 5322, 3.4.1; the domain as RFC 5321, 4.1.2, has it. ASCII: most servers take no more.
ADDRESS = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*"
                     r"@[A-Za-z0-9]([A-Za-z0-9-]*[A-Za-z0-9])?(\.[A-Za-z0-9]([A-Za-z0-9-]*[A-Za-z0-9])?)+")
HOST = re.compile(r"[A-Za-z0-9]([A-Za-z0-9.:-]*[A-Za-z0-9])?")
PLACE = re.compile(r"\{([^{}]*)\}")
FIRST_TRIES = (timedelta(minutes=5), timedelta(minutes=15))
# RFC 5321, 4.5.4.1: after the first tries at least 30 minutes apart, and given up after four to five days at the earliest.
NEXT_TRIES, GIVEN_UP = timedelta(minutes=30), timedelta(days=4)
# Longer than the ten steps of one try can take, of a minute each at most: a claim that is older has nobody who works on it.
CLAIM = timedelta(minutes=15)


class How(StrEnum):
    """How somebody was reached, or was not."""

    CALLED = "called and spoke"
    NO_ANSWER = "called, no answer"
    VOICEMAIL = "left a voicemail"
    MESSAGE = "sent a message"
    LETTER = "sent a letter"
    EMAIL = "sent an e-mail"
    THEY = "they got in touch"

    @property
    def reaches(self) -> bool:
        """Something was told to them, or left for them."""
        return self is not How.NO_ANSWER


class Security(StrEnum):
    """How the connection to the mail server is encrypted. None without encryption is offered."""

    STARTTLS = "STARTTLS"
    TLS = "TLS from the start"

    @property
    def port(self) -> int:
        """RFC 6409 submission, RFC 8314 submissions."""
        return {"STARTTLS": 587, "TLS from the start": 465}[self.value]


class MailState(StrEnum):
    """How far a message is, for one recipient."""

    WAITING = "waiting"
    CONNECTING = "connecting"  # nothing of it was handed over yet
    HANDING_OVER = "being handed over"  # its text may have reached the server
    ACCEPTED = "accepted by the server"
    REFUSED = "refused"
    WITHDRAWN = "withdrawn"

    @property
    def ended(self) -> bool:
        return self in (MailState.ACCEPTED, MailState.REFUSED, MailState.WITHDRAWN)


def address_trouble(address: str) -> str:
    """What is wrong with an e-mail address, in words; empty for one that can be written to."""
    if broken(address):
        return "A line end or a character that cannot be seen stands in the address. Type it again."
    if not address.isascii():
        return "The address has letters beyond a to z. Most mail servers take none: ask for another address."
    if len(address) > LONGEST_ADDRESS or not ADDRESS.fullmatch(address):
        return f"“{address}” is not an e-mail address. Enter one such as name@shop.example."
    return ""


def broken(line: str) -> bool:
    """Whether something in one line of a header would end it: RFC 5322, 2.2, a header ends with its line."""
    return any(ord(sign) < 32 or ord(sign) == 127 or sign in "\u0085\u2028\u2029" for sign in line)


def filled(text: str, facts: Mapping[str, str]) -> str:
    """A template with the facts in the places named in braces; KeyError with the name of one that there is not."""
    return PLACE.sub(lambda found: facts[found.group(1)], text)


def unknown_places(text: str, known: Mapping[str, str]) -> list[str]:
    """The names in braces for which there is no fact."""
    return sorted({name for name in PLACE.findall(text) if name not in known})


def next_try(tries: int, first: datetime, now: datetime) -> datetime | None:
    """When it is tried again after so many tries that a later one may better; None once it is given up."""
    if now - first >= GIVEN_UP:
        return None
    return now + (FIRST_TRIES[tries - 1] if tries <= len(FIRST_TRIES) else NEXT_TRIES)


def megabytes(size: int) -> str:
    """'2.4 MB'; less than a tenth in kilobytes."""
    return f"{size / MEGABYTE:.1f} MB" if size >= MEGABYTE / 10 else f"{max(1, round(size / 1000))} kB"
