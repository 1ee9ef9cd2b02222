"""Which passwords and PINs are refused, and what to say. Pure.

Lengths after NIST SP 800-63B-4: fifteen characters for a password that stands alone, no rules about kinds of characters.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import date

SHORTEST, LONGEST = 15, 128
PIN_DIGITS = 6


def password_trouble(password: str, *, about: tuple[str, ...] = ()) -> str | None:
    """What is wrong with this password, in words; None if it will do. `about`: names that must not make it up."""
    plain = unicodedata.normalize("NFKC", password)
    if len(plain) < SHORTEST:
        return f"Use at least {SHORTEST} characters. Four or five words in a row are easy to keep and hard to guess."
    if len(plain) > LONGEST:
        return f"Use at most {LONGEST} characters."
    folded = plain.casefold()
    if len(set(folded)) < 5:
        return "Use more different characters."
    left = folded
    for word in sorted({w.casefold() for name in about for w in [name, *name.split()] if len(w) > 2}, key=len, reverse=True):
        left = left.replace(word, "")
    if len(left) < SHORTEST // 2:
        return "Do not make it from your name or the shop's."
    if _is_common(folded):
        return "This one is on the lists that are tried first. Use another."
    return None


def _is_common(folded: str) -> bool:
    """Whether it is one of the passwords that guessing begins with, or such a one repeated or run together."""
    from zxcvbn.frequency_lists import FREQUENCY_LISTS  # 30,000 and more; loaded only when a password is chosen

    common = set(FREQUENCY_LISTS["passwords"])
    squeezed = re.sub(r"[^a-z0-9]", "", folded)
    return squeezed in common or any(
        squeezed == squeezed[:n] * (len(squeezed) // n) + squeezed[: len(squeezed) % n]
        for n in range(1, len(squeezed) // 2 + 1))


def pin_trouble(pin: str) -> str | None:
    """What is wrong with this PIN, in words; None if it will do."""
    if not re.fullmatch(rf"[0-9]{{{PIN_DIGITS}}}", pin):
        return f"A PIN has {PIN_DIGITS} digits."
    if _is_easy(pin):
        return "This one is too easy to guess: no runs, repeats or dates."
    return None


def _is_easy(pin: str) -> bool:
    steps = {(int(b) - int(a)) % 10 for a, b in zip(pin, pin[1:], strict=False)}
    repeated = pin in (pin[:1] * 6, pin[:2] * 3, pin[:3] * 2) or len(set(pin)) <= 2
    mirrored = pin == pin[::-1]
    return steps in ({1}, {9}) or repeated or mirrored or _reads_as_date(pin)


def _reads_as_date(pin: str) -> bool:
    """ddmmyy, mmddyy or yymmdd of a day that somebody alive could have been born on."""
    a, b, c = int(pin[:2]), int(pin[2:4]), int(pin[4:])
    for day, month, year in ((a, b, c), (b, a, c), (c, b, a)):
        try:
            date(2000 + year, month, day)
        except ValueError:
            continue
        return True
    return False
