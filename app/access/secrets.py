"""Hashes and tokens. Passwords and PINs are hashed slowly (Argon2id); random tokens need only SHA-256."""

from __future__ import annotations

import base64
import hashlib
import secrets
import unicodedata
from typing import TYPE_CHECKING

from flask import g, has_request_context

if TYPE_CHECKING:
    from argon2 import PasswordHasher

# OWASP's floor is 19 MiB, t=2, p=1 (Password Storage Cheat Sheet); this is well above it and near 50 ms on a small machine.
TIME_COST, MEMORY_COST = 2, 46 * 1024
_cost = (TIME_COST, MEMORY_COST)


def use(*, time_cost: int, memory_cost: int) -> None:
    """Another cost from now on; secrets hashed before still fit."""
    global _cost
    _cost = (time_cost, memory_cost)


def new_token() -> str:
    """256 random bits for a cookie."""
    return secrets.token_urlsafe(32)


# No letter that another keyboard layout has on another key (A, Q, W, Z, Y, M): a scanner types as a keyboard does.
_BADGE_SIGNS = "BCDEFGHJKLNPRSTV"
_CODE_SIGNS = "ABCDEFGHJKLMNPQRTUVWXYZ2346789"  # none that is taken for another when it is read off paper


def new_badge() -> str:
    """128 random bits, as 32 letters of sixteen."""
    return "".join(_BADGE_SIGNS[nibble] for byte in secrets.token_bytes(16) for nibble in (byte >> 4, byte & 15))


def new_code(length: int) -> str:
    """A code to be read off a screen or paper and typed; each sign is one of thirty."""
    return "".join(secrets.choice(_CODE_SIGNS) for _ in range(length))


def as_typed(code: str) -> str:
    """A code or badge without what people put between its signs, in capitals."""
    return "".join(code.split()).replace("-", "").upper()


def token_hash(token: str) -> str:
    """What the database keeps of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


class Hashed(str):
    """A password or PIN whose hash was worked out before: what is handed to a service that keeps it, inside a transaction."""

    slow_hash: str


def hashed(secret: str) -> Hashed:
    """The same secret with its hash, worked out here and now: outside the write lock."""
    found = Hashed(secret)
    found.slow_hash = hash_secret(secret)
    return found


def hash_secret(secret: str) -> str:
    """What the database keeps of a password or PIN."""
    if isinstance(secret, Hashed):
        return secret.slow_hash
    _refuse_under_lock()
    return _hasher().hash(unicodedata.normalize("NFKC", secret))


def hash_of_nobody() -> str:
    """A hash that no secret has, of the present cost: trying one against it takes as long as against a person's."""
    salt, tag = (base64.b64encode(secrets.token_bytes(size)).decode().rstrip("=") for size in (16, 32))
    return f"$argon2id$v=19$m={_cost[1]},t={_cost[0]},p=1${salt}${tag}"


def secret_fits(stored: str | None, given: str) -> bool:
    """Whether the given password or PIN is the one that was stored. None fits where none is set, and that takes as long."""
    from argon2.exceptions import VerificationError

    _refuse_under_lock()
    if stored is None:
        stored = hash_of_nobody()
    try:
        return _hasher().verify(stored, unicodedata.normalize("NFKC", given))
    except VerificationError:
        return False


def _refuse_under_lock() -> None:
    if has_request_context() and "sign_in" in g and g.get("db_writing"):
        raise RuntimeError("a slow hash under the write lock: everybody else's save would wait for it")


def _hasher() -> PasswordHasher:
    """Loaded with the first secret: the sign-in page itself needs none."""
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=_cost[0], memory_cost=_cost[1], parallelism=1)
