"""Lengths: NIST SP 800-63B-4 asks 15 characters of a password that stands alone (seen quoted in the ASVS threads)."""

from __future__ import annotations

import itertools

import pytest

from app.access.strength import password_trouble, pin_trouble


@pytest.mark.parametrize("password", ["fourteen chars", "x" * 129, "aaaabbbbccccdddd", "passwordpassword", "tovetovetovetove"])
def test_weak_passwords_are_refused_in_words(password: str) -> None:
    trouble = password_trouble(password, about=("Tove",))
    assert trouble and trouble.endswith(".")


@pytest.mark.parametrize(
    "password", ["seven copper kettles", "x1!" * 5 + "qwz", "kanelbullar på fredag", "🎛️ a knob for every mood"]
)
def test_long_passwords_of_any_characters_will_do(password: str) -> None:
    assert password_trouble(password, about=("Tove",)) is None


@pytest.mark.parametrize(
    "pin", ["123456", "654321", "000000", "121212", "123123", "010190", "311299", "12345", "1234567", "12a456"]
)
def test_easy_pins_are_refused(pin: str) -> None:
    assert pin_trouble(pin)


def test_most_pins_will_do() -> None:
    """Counted over every thousandth PIN: dates take the largest share of what is refused."""
    sampled = [f"{n:06d}" for n in itertools.chain(range(0, 10**6, 997))]
    refused = sum(pin_trouble(pin) is not None for pin in sampled) / len(sampled)
    assert 0.05 < refused < 0.25
