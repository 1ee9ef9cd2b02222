"""A device that holds passkeys, by hand after the W3C's Web Authentication, Level 2 (6.1 authenticator data, 6.5.1 attested data,
8.7 attestation "none") and RFC 9053, 7.1.1 (ES256 key): nothing of it comes from the library that the shop weighs it with.

The numbers of sections are from memory.
"""

from __future__ import annotations

import base64
import hashlib
import json
import secrets
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

PRESENT, VERIFIED, ATTESTED = 0x01, 0x04, 0x40
ORIGIN = "http://localhost"


def b64(plain: bytes) -> str:
    return base64.urlsafe_b64encode(plain).decode().rstrip("=")


def plain(words: str) -> bytes:
    return base64.urlsafe_b64decode(words + "=" * (-len(words) % 4))


@dataclass
class Authenticator:
    """One key. `verifies`: it asks for finger, face or its PIN; `step`: by how much its count goes on."""

    origin: str = ORIGIN
    rp_id: str = "localhost"
    verifies: bool = True
    step: int = 1
    counter: int = 0
    handle: str = ""
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    credential_id: bytes = field(default_factory=lambda: secrets.token_bytes(32))

    def make(self, options: str) -> str:
        """What a browser sends after navigator.credentials.create."""
        asked = json.loads(options)
        self.handle = asked["user"]["id"]
        at = self.key.public_key().public_numbers()
        # {1: 2 (EC2), 3: -7 (ES256), -1: 1 (P-256), -2: x, -3: y}, in CBOR
        cose = b"\xa5\x01\x02\x03\x26\x20\x01\x21\x58\x20" + at.x.to_bytes(32, "big") + b"\x22\x58\x20" + at.y.to_bytes(32, "big")
        attested = bytes(16) + len(self.credential_id).to_bytes(2, "big") + self.credential_id + cose
        data = self._data(ATTESTED) + attested
        # {"fmt": "none", "attStmt": {}, "authData": bytes}
        whole = b"\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData\x59" + len(data).to_bytes(2, "big") + data
        return self._sent({"attestationObject": b64(whole), "clientDataJSON": b64(self._client("webauthn.create", asked))})

    def sign(self, options: str, **instead: str) -> str:
        """What a browser sends after navigator.credentials.get."""
        asked = json.loads(options)
        self.counter += self.step
        data, client = self._data(), self._client("webauthn.get", asked)
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(hashes.SHA256()))
        return self._sent({"authenticatorData": b64(data), "clientDataJSON": b64(client), "signature": b64(signature),
                           "userHandle": self.handle, **instead})

    def _data(self, more: int = 0) -> bytes:
        flags = PRESENT | (VERIFIED if self.verifies else 0) | more
        return hashlib.sha256(self.rp_id.encode()).digest() + bytes([flags]) + self.counter.to_bytes(4, "big")

    def _client(self, what: str, asked: dict[str, Any]) -> bytes:
        return json.dumps({"type": what, "challenge": asked["challenge"], "origin": self.origin, "crossOrigin": False}).encode()

    def _sent(self, response: dict[str, str]) -> str:
        return json.dumps({"id": b64(self.credential_id), "rawId": b64(self.credential_id), "type": "public-key",
                           "response": response})
