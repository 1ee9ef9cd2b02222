"""Talking to the shop's mail server (RFC 5321, RFC 3207, RFC 8314): encrypted, its certificate checked, and its own words kept.

One conversation hands over one message for one recipient, so that every answer is about one person. What is known at its end is
an `Outcome`: accepted, later, never, or lost, where the message was handed over and no answer came.
"""

from __future__ import annotations

import contextlib
import re
import smtplib
import ssl
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from app.contact.rules import Security, megabytes

SECONDS = 60.0  # for each step; RFC 5321, 4.5.3.2, names minutes for a server among servers, here somebody's own answers
LONGEST = 500  # signs of an answer that are kept
OK, REFUSED_FOR_GOOD = 250, 500
# RFC 5321, 4.3.2: sender and recipient are taken by a 2yz; only 354 asks for the text. To a server that says anything else to
# DATA the text would be commands, and what it answered to one of them no word about the message.
TAKEN, GO_ON = range(200, 300), range(354, 355)
OURSELVES = "[127.0.0.1]"  # RFC 5321, 4.1.3: a client without a name in the DNS gives an address
_DOTS = re.compile(rb"^\.", re.MULTILINE)


class End(StrEnum):
    """How a conversation ended for its message."""

    ACCEPTED = "accepted"
    LATER = "later"
    NEVER = "never"
    LOST = "lost"


@dataclass(frozen=True)
class Outcome:
    """How it ended, in the server's own words where it spoke. `of_server`: another message would fare no better now."""

    end: End
    words: str
    of_server: bool = False


@dataclass(frozen=True)
class Way:
    """How the server is reached."""

    host: str
    port: int
    security: Security
    user_name: str = ""
    password: str = ""


@dataclass(frozen=True)
class Envelope:
    """One message for one recipient."""

    recipient_id: int
    sender: str
    to: str
    data: bytes


@dataclass(frozen=True)
class Seen:
    """What a test saw: whether the server would take mail, its own words, the most bytes it takes (None: it names none)."""

    passed: bool
    words: str
    most_bytes: int | None = None


class _Trouble(Exception):
    """No conversation, in words."""


def look(way: Way) -> Seen:
    """Go as far as a message would, and send none."""
    try:
        with _conversation(way) as (server, greeting):
            code, reply = server.noop()
            return Seen(code == OK, f"{greeting} · {_said(code, reply)}", _most(server))
    except _Trouble as wrong:
        return Seen(False, str(wrong))


def hand_over(way: Way, envelope: Envelope, begin: Callable[[], None]) -> Outcome:
    """Hand one message over. `begin` is called when its text is about to go out: what is not heard after that is lost."""
    try:
        with _conversation(way) as (server, _):
            most = _most(server)
            if most is not None and len(envelope.data) > most:
                return Outcome(End.NEVER, f"The message has {megabytes(len(envelope.data))}; "
                                          f"the server takes {megabytes(most)} (SIZE).")
            size = [f"size={len(envelope.data)}"] if server.has_extn("size") else []
            for ask, wanted in ((lambda: server.mail(envelope.sender, size), TAKEN), (lambda: server.rcpt(envelope.to), TAKEN),
                                (lambda: server.docmd("DATA"), GO_ON)):
                code, reply = _heard(ask)
                if code not in wanted:
                    return _refused(code, reply)
            begin()
            return _text(server, envelope.data)
    except _Trouble as wrong:
        return Outcome(End.LATER, str(wrong), of_server=True)


def _text(server: smtplib.SMTP, data: bytes) -> Outcome:
    """The text with its dots doubled (RFC 5321, 4.5.2), and the answer to it."""
    body = _DOTS.sub(b"..", data)
    try:
        server.send(body + (b"" if body.endswith(b"\r\n") else b"\r\n") + b".\r\n")
        code, reply = server.getreply()
    except (OSError, smtplib.SMTPException) as wrong:
        return Outcome(End.LOST, f"The connection broke before the server answered: {wrong}")
    return Outcome(End.ACCEPTED, _said(code, reply)) if code == OK else _refused(code, reply)


def _refused(code: int, reply: bytes) -> Outcome:
    """4yz: try later; 5yz: never (RFC 5321, 4.2.1). Anything else is no answer that the standard knows: later."""
    return Outcome(End.NEVER if code >= REFUSED_FOR_GOOD else End.LATER, _said(code, reply))


def _heard(ask: Callable[[], tuple[int, bytes]]) -> tuple[int, bytes]:
    try:
        return ask()
    except (OSError, smtplib.SMTPException) as wrong:
        raise _Trouble(f"The connection broke: {wrong}") from wrong


@contextlib.contextmanager
def _conversation(way: Way) -> Iterator[tuple[smtplib.SMTP, str]]:
    """Signed in, encrypted, ready for a message; the server with its greeting."""
    server, greeting = _opened(way)
    try:
        yield server, greeting
    finally:
        with contextlib.suppress(OSError, smtplib.SMTPException):  # all that matters was answered before
            server.quit()
        server.close()


def _opened(way: Way) -> tuple[smtplib.SMTP, str]:
    where, context = f"{way.host} port {way.port}", ssl.create_default_context()
    server: smtplib.SMTP | None = None
    try:
        if way.security is Security.TLS:
            server = smtplib.SMTP_SSL(way.host, way.port, local_hostname=OURSELVES, timeout=SECONDS, context=context)
        else:
            server = smtplib.SMTP(way.host, way.port, local_hostname=OURSELVES, timeout=SECONDS)
        server.ehlo_or_helo_if_needed()
        if way.security is Security.STARTTLS:
            if not server.has_extn("starttls"):
                raise _Trouble(f"{where} offers no encryption (STARTTLS). Nothing was sent.")
            server.starttls(context=context)
            server.ehlo()
        if way.user_name:
            server.login(way.user_name, way.password)
        return server, _said(OK, (server.ehlo_resp or b"").split(b"\n")[0])
    except _Trouble:
        _shut(server)
        raise
    except (OSError, smtplib.SMTPException) as wrong:
        _shut(server)
        raise _Trouble(_why(where, wrong)) from wrong


def _why(where: str, wrong: Exception) -> str:
    if isinstance(wrong, ssl.SSLCertVerificationError):
        return f"The certificate of {where} is not accepted: {wrong.verify_message}. Nothing was sent."
    if isinstance(wrong, smtplib.SMTPAuthenticationError):
        return f"{where} does not accept user name and password: {_said(wrong.smtp_code, wrong.smtp_error)}"
    if isinstance(wrong, smtplib.SMTPNotSupportedError):
        return f"{where} offers no way to sign in: {wrong}"
    if isinstance(wrong, smtplib.SMTPResponseException):
        return f"{where} said: {_said(wrong.smtp_code, wrong.smtp_error)}"
    return f"{where} could not be talked to: {getattr(wrong, 'strerror', None) or wrong}"


def _shut(server: smtplib.SMTP | None) -> None:
    if server is not None:
        server.close()


def _most(server: smtplib.SMTP) -> int | None:
    """The SIZE that its EHLO named (RFC 1870); 0 there means that it names none."""
    named = server.esmtp_features.get("size", "").strip()
    return int(named) if named.isdigit() and int(named) > 0 else None


def _said(code: int, reply: bytes | str) -> str:
    """An answer in one line that can be shown."""
    text = reply.decode("utf-8", "replace") if isinstance(reply, bytes) else reply
    return f"{code} {' '.join(''.join(sign if sign.isprintable() else ' ' for sign in text).split())}"[:LONGEST]
