"""Hashes and tokens. Passwords and PINs are hashed slowly (Argon2id); random tokens need only SHA-256."""

from __future__ import annotations

import hashlib
import secrets
import unicodedata
from typing import TYPE_CHECKING

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


def hash_secret(secret: str) -> str:
    """What the database keeps of a password or PIN."""
    return _hasher().hash(unicodedata.normalize("NFKC", secret))


def secret_fits(stored: str | None, given: str) -> bool:
    """Whether the given password or PIN is the one that was stored. None fits where none is set, and that takes as long."""
    from argon2.exceptions import VerificationError

    if stored is None:
        hash_secret(given)
        return False
    try:
        return _hasher().verify(stored, unicodedata.normalize("NFKC", given))
    except VerificationError:
        return False


def _hasher() -> PasswordHasher:
    """Loaded with the first secret: the sign-in page itself needs none."""
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=_cost[0], memory_cost=_cost[1], parallelism=1)
