"""Plain members of a tar, written and read in blocks: POSIX ustar headers and nothing that a header could hide something in.

POSIX.1-2017, pax, "ustar Interchange Format", from memory; read back by GNU tar and the standard library in tests/backup. The
standard library reads every extension of the format, and for some as much memory as a header claims; this reads none of them.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import BinaryIO

from app.errors import BadInput

BLOCK = 512
AT_ONCE = 1 << 20  # bytes in memory
_LARGEST_OCTAL = 8 ** 11 - 1
_MAGIC = b"ustar\x0000"
_PLAIN = (b"0", b"\0")


@dataclass(frozen=True)
class Member:
    """A plain member: its name, how many bytes it has, and where in the file they begin."""

    name: str
    size: int
    at: int


def add(file: BinaryIO, name: str, blocks: Iterable[bytes]) -> int:
    """Write one member at the end of `file`, of a length that nobody needs to know before; how many bytes it has."""
    begins = file.tell()
    file.write(_header(name, 0))
    size = 0
    for block in blocks:
        file.write(block)
        size += len(block)
    file.write(b"\0" * (-size % BLOCK))
    ends = file.tell()
    file.seek(begins)
    file.write(_header(name, size))
    file.seek(ends)
    return size


def end(file: BinaryIO) -> None:
    """Two empty blocks: nothing comes after them."""
    file.write(b"\0" * (2 * BLOCK))


def members(file: BinaryIO) -> Iterator[Member]:
    """Every member by its header alone; BadInput at the first that is not a plain one, or is not there to its end."""
    length = os.fstat(file.fileno()).st_size
    at = 0
    while True:
        file.seek(at)
        header = file.read(BLOCK)
        if header.count(0) == BLOCK:
            return
        if len(header) < BLOCK:
            raise BadInput("The file ends before the backup does: it was cut off, or not finished." if at else
                           "The file is not a Tagstrip backup.")
        member = _read(header, at + BLOCK)
        if member.at + member.size > length:
            raise BadInput(f"{member.name} in the backup is said to have {human(member.size)}, and the file ends before that.")
        yield member
        at = member.at + member.size + -member.size % BLOCK


def content(file: BinaryIO, member: Member) -> Iterator[bytes]:
    """A member's bytes, block by block. Others may be read meanwhile."""
    done = 0
    while done < member.size:
        file.seek(member.at + done)
        block = file.read(min(AT_ONCE, member.size - done))
        if not block:
            raise BadInput(f"{member.name} in the backup is cut off.")
        done += len(block)
        yield block


def human(size: int) -> str:
    """'6.4 GB', '3.0 kB': bytes for a person to read."""
    for name, unit in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if size >= unit:
            return f"{size / unit:.1f} {name}"
    return f"{size} bytes"


def _header(name: str, size: int) -> bytes:
    number = b"%011o\0" % size if size <= _LARGEST_OCTAL else b"\x80" + size.to_bytes(11, "big")  # the latter as GNU tar does
    head = (name.encode().ljust(100, b"\0") + b"0000600\0" + b"0000000\0" * 2 + number + b"%011o\0" % 0 + b" " * 8 + b"0"
            + b"\0" * 100 + _MAGIC + b"\0" * 64 + b"0000000\0" * 2).ljust(BLOCK, b"\0")
    return head[:148] + b"%06o\0 " % sum(head) + head[156:]


def _read(header: bytes, at: int) -> Member:
    if header[257:263] not in (b"ustar\0", b"ustar "):
        raise BadInput("The file is not a Tagstrip backup, or is damaged where a member of it begins.")
    if _octal(header[148:156]) != sum(header[:148]) + 8 * ord(" ") + sum(header[156:]):
        raise BadInput("The backup is damaged where a member of it begins.")
    name = header[:100].rstrip(b"\0").decode("utf-8", "replace")
    if header[156:157] not in _PLAIN or header[157:257].strip(b"\0") or header[345:500].strip(b"\0"):
        raise BadInput(f"The backup holds “{name}”, which is not part of a Tagstrip backup: it is no plain file.")
    number = header[124:136]
    size = int.from_bytes(number[1:], "big") if number[0] == 0x80 else _octal(number)
    return Member(name, size, at)


def _octal(number: bytes) -> int:
    digits = number.strip(b"\0 ")
    if digits.strip(b"01234567"):
        raise BadInput("The backup is damaged where a member of it begins.")
    return int(digits or b"0", 8)
