"""A real SMTP server on loopback, with a certificate of the test's own authority, that answers as a test tells it to.

The server is aiosmtpd, a library outside the project: what it takes for a conversation is one.
"""

from __future__ import annotations

import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any, cast

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, Envelope, LoginPassword, Session
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

PASSWORD = "a password that is nowhere kept but in its file"
USER = "shop"


@dataclass
class Post:
    """What the server got, and how it answers: by recipient, to a text, or by cutting the connection after so many texts."""

    got: list[tuple[str, bytes]] = field(default_factory=list)
    tried: list[str] = field(default_factory=list)
    signed_in: list[bytes] = field(default_factory=list)
    to_recipient: dict[str, str] = field(default_factory=dict)
    to_text: str = "250 2.0.0 Ok: queued as 4F2A"
    cut_after: int = 0  # texts that are taken without an answer
    arrived: threading.Event = field(default_factory=threading.Event)

    async def handle_RCPT(self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]) -> str:  # noqa: N802
        self.tried.append(address)
        if address in self.to_recipient:
            return self.to_recipient[address]
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 Ok"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802
        if self.to_text.startswith("2"):
            self.got.append((envelope.rcpt_tos[0], cast(bytes, envelope.original_content)))
            self.arrived.set()
        if self.cut_after:
            self.cut_after -= 1
            cast(Any, server).transport.abort()
        return self.to_text

    def texts(self) -> list[str]:
        """What each says; a mail's line ends are CRLF (RFC 5322, 2.3)."""
        return [cast(str, one.get_body().get_content()).replace("\r\n", "\n") for one in self.letters()]  # type: ignore[union-attr]

    def letters(self) -> list[EmailMessage]:
        """What arrived, read by the standard library."""
        return [cast(EmailMessage, message_from_bytes(data, policy=default)) for _, data in self.got]


def authority(folder: Path, name: str = "localhost") -> tuple[Path, Path]:
    """A certificate for this name that is its own authority, and its key."""
    key, now = ec.generate_private_key(ec.SECP256R1()), datetime.now(UTC)
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    made = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=2))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    certificate, secret = folder / f"{name}.pem", folder / f"{name}.key"
    certificate.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    secret.write_bytes(
        key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    return certificate, secret


@contextmanager
def listening(
    post: Post, files: tuple[Path, Path] | None, *, from_the_start: bool = False, most: int = 30_000_000
) -> Iterator[int]:
    """The port on which it answers. Without files it offers no encryption."""
    context = None
    if files is not None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*files)

    def know(_server: SMTP, _session: Session, _envelope: Envelope, _how: str, given: object) -> AuthResult:
        data = cast(LoginPassword, given)
        post.signed_in.append(data.login)
        return AuthResult(success=(data.login, data.password) == (USER.encode(), PASSWORD.encode()), handled=False)

    class Server(Controller):
        def factory(self) -> SMTP:
            return SMTP(
                self.handler,
                data_size_limit=most,
                hostname="mail.test.example",
                ident="ready",
                tls_context=None if from_the_start else context,
                require_starttls=context is not None and not from_the_start,
                authenticator=know,
                auth_require_tls=not from_the_start,
                auth_required=False,
                auth_exclude_mechanism=["LOGIN"],
            )

        def _trigger_server(self) -> None:
            self.port = cast(Any, self).server.sockets[0].getsockname()[1]  # the one that the system chose
            super()._trigger_server()

    server = Server(post, hostname="127.0.0.1", port=0, ssl_context=context if from_the_start else None)
    server.start()
    try:
        yield server.port
    finally:
        server.stop()
