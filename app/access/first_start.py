"""The code that proves that whoever opens the shop also started the program."""

from __future__ import annotations

import re
import secrets
from datetime import datetime
from pathlib import Path

from app.access import guessing
from app.config import write_whole

FILE = "first-start.code"
LETTERS, LENGTH = "ABCDEFGHJKMNPQRTVWXYZ", 12  # none that is read as another or as a figure; 21 ** 12 is 52 bits
_CODE = re.compile(f"[{LETTERS}]{{{LENGTH}}}")
_WHO = guessing.Who(0, "\0first start")  # nobody's name


def console_code(data: Path) -> str:
    """The code in three groups, made once per data folder, readable by its owner only; printed at the console."""
    code = _code(data)
    return " ".join(code[at:at + 4] for at in range(0, LENGTH, 4))


def trouble(data: Path, given: str, place: str, now: datetime) -> str | None:
    """Why the code that was typed opens nothing; None if it is the one on the console. Wrong ones are slowed as passwords are."""
    if waiting := guessing.password_trouble(_WHO, place, now) or guessing.place_trouble(place):
        return waiting
    if secrets.compare_digest(_code(data).encode(), re.sub(r"[\s-]", "", given).upper().encode()):
        return None
    guessing.failed(_WHO, place, "password", now)
    return "That is not the code that was printed where Tagstrip was started."


def forget_code(data: Path) -> None:
    """Once the shop is open the code is worth nothing."""
    (data / FILE).unlink(missing_ok=True)


def _code(data: Path) -> str:
    path = data / FILE
    if path.is_file() and _CODE.fullmatch(found := path.read_text(encoding="ascii", errors="replace").strip()):
        return found
    code = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    write_whole(path, code)
    return code
