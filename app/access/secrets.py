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


def token_hash(token: str) -> str:
    """What the database keeps of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def hash_secret(secret: str) -> str:
    """What the database keeps of a password or PIN."""
    return _hasher().hash(unicodedata.normalize("NFKC", secret))


def secret_fits(stored: str, given: str) -> bool:
    """Whether the given password or PIN is the one that was stored."""
    from argon2.exceptions import VerificationError

    try:
        return _hasher().verify(stored, unicodedata.normalize("NFKC", given))
    except VerificationError:
        return False


def _hasher() -> PasswordHasher:
    """Loaded with the first secret: the sign-in page itself needs none."""
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=_cost[0], memory_cost=_cost[1], parallelism=1)
