"""Archives that nobody's Tagstrip wrote: as the format says, but for the one thing that is wrong in each."""

from __future__ import annotations

import hashlib
import io
import json
import tarfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from app import migrate

GIB = 1 << 30
Entry = tuple[tarfile.TarInfo, bytes]


def entry(name: str, data: bytes = b"", **said: Any) -> Entry:
    """A member; `said` is what its header says otherwise than it is."""
    info = tarfile.TarInfo(name)
    info.size = len(data)
    for what, value in said.items():
        setattr(info, what, value)
    return info, data


def manifest(these: list[Entry], **said: Any) -> Entry:
    """The first format's manifest over these members; `said` replaces what it tells."""
    told = {"format": 1, "revision": migrate.newest(), "made_at": "2026-03-02T09:30:00+00:00", "journal_head": "", "troubles": [],
            "members": {info.name: {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)} for info, data in these}}
    return entry("manifest.json", json.dumps(told | said).encode())


def write(path: Path, entries: list[Entry], form: int = tarfile.PAX_FORMAT, cut: int | None = None) -> Path:
    """Headers as the standard library writes them, each with the bytes that are really there."""
    with path.open("wb") as file:
        for info, data in entries:
            file.write(info.tobuf(form, "utf-8", "surrogateescape"))
            file.write(data + b"\0" * (-len(data) % 512))
        file.write(b"\0" * 1024)
    if cut is not None:
        path.write_bytes(path.read_bytes()[:cut])
    return path


def picture(number: int = 0, **said: Any) -> Entry:
    data = f"picture {number}".encode()
    return entry(f"files/{hashlib.sha256(data).hexdigest()}", data, **said)


def whole(*members: Entry, **said: Any) -> list[Entry]:
    return [*members, manifest(list(members), **said)]


def raw_header(kind: bytes, size: int) -> bytes:
    """A header of this kind that claims a size, as POSIX pax and GNU tar lay it out, with the right checksum."""
    info = tarfile.TarInfo("files/" + "0" * 64)
    info.size, info.type = size, kind
    return info.tobuf(tarfile.GNU_FORMAT)


def claims(path: Path, kind: bytes) -> Path:
    """Three thousand bytes that claim six gibibytes."""
    path.write_bytes(raw_header(kind, 6 * GIB) + b"1" * 2488)
    return path


def of_bytes(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


CASES: dict[str, Callable[[Path], Path]] = {
    "a plain member of 6 GiB": lambda at: claims(at, tarfile.REGTYPE),
    "an extended header of 6 GiB": lambda at: claims(at, tarfile.XHDTYPE),
    "a global extended header of 6 GiB": lambda at: claims(at, tarfile.XGLTYPE),
    "a long name of 6 GiB": lambda at: claims(at, tarfile.GNUTYPE_LONGNAME),
    "a long link of 6 GiB": lambda at: claims(at, tarfile.GNUTYPE_LONGLINK),
    "a sparse member of 6 GiB": lambda at: claims(at, tarfile.GNUTYPE_SPARSE),
    "a contiguous member": lambda at: write(at, whole(picture(type=tarfile.CONTTYPE))),
    "a symbolic link": lambda at: write(at, whole(picture(type=tarfile.SYMTYPE, linkname="/etc/passwd"))),
    "a hard link": lambda at: write(at, whole(picture(type=tarfile.LNKTYPE, linkname="manifest.json"))),
    "a plain member that names a link": lambda at: write(at, whole(picture(linkname="manifest.json"))),
    "a device": lambda at: write(at, whole(picture(type=tarfile.BLKTYPE, devmajor=8))),
    "a pipe": lambda at: write(at, whole(picture(type=tarfile.FIFOTYPE))),
    "a folder": lambda at: write(at, whole(entry("files/", type=tarfile.DIRTYPE))),
    "a size said by an extended header": lambda at: write(at, whole(picture(pax_headers={"size": "6442450944"}))),
    "a sparse size said by an extended header": lambda at: write(at, whole(picture(pax_headers={"GNU.sparse.size": "6442450944"}))),
    "a name said by an extended header": lambda at: write(at, whole(picture(pax_headers={"path": "files/../../evil"}))),
    "a member twice": lambda at: write(at, whole(picture(), picture())),
    "a manifest twice": lambda at: write(at, [*whole(picture()), manifest([picture()])]),
    "files out of order": lambda at: write(at, whole(
        *sorted((picture(number) for number in range(4)), key=lambda one: one[0].name, reverse=True))),
    "a name in capitals": lambda at: write(at, whole(entry("FILES/" + "a" * 64))),
    "a member that the manifest does not name": lambda at: write(at, [picture(), manifest([])]),
    "a member that is not there": lambda at: write(at, [manifest([picture()])]),
    "a member of another length": lambda at: write(at, whole(picture(), members={
        picture()[0].name: {"sha256": "0" * 64, "bytes": 6 * GIB}})),
    "a member of another content": lambda at: write(at, whole(picture(), members={
        picture()[0].name: {"sha256": "0" * 64, "bytes": 9}})),
    "no manifest": lambda at: write(at, [picture()]),
    "a manifest that is a list": lambda at: write(at, [entry("manifest.json", b"[]")]),
    "a manifest of deep brackets": lambda at: write(at, [entry("manifest.json", b"[" * 200_000)]),
    "a manifest with a number for its members": lambda at: write(at, whole(members=7)),
    "a manifest with words for a size": lambda at: write(at, whole(picture(), members={picture()[0].name: {"sha256": 1}})),
    "another format": lambda at: write(at, whole(format=9)),
    "cut in a member": lambda at: write(at, whole(picture()), cut=514),
    "cut in a header": lambda at: write(at, whole(picture()), cut=700),
    "an altered header": lambda at: of_bytes(at, write(at, whole(picture())).read_bytes().replace(b"files/", b"filez/", 1)),
    "no archive": lambda at: of_bytes(at, b"not a tar at all" * 100),
    "nothing": lambda at: of_bytes(at, b""),
    "a table that no schema has": lambda at: write(at, whole(entry("tables/of_the_law.jsonl", b'{"id": 1}\n'))),
    "a row that is no row": lambda at: write(at, whole(entry("tables/customer.jsonl", b"[1, 2]\n"))),
    "a row that is no JSON": lambda at: write(at, whole(entry("tables/customer.jsonl", b"{\n"))),
    "a row of deep brackets": lambda at: write(at, whole(entry("tables/customer.jsonl", b'{"id": ' + b"[" * 100_000 + b"\n"))),
    "a row with a column that no table has": lambda at: write(at, whole(entry("tables/customer.jsonl", b'{"id": 1, "x": 2}\n'))),
    "a row that the table refuses": lambda at: write(at, whole(entry("tables/customer.jsonl", b'{"id": 1}\n'))),
    "a row with an object for text": lambda at: write(at, whole(entry("tables/customer.jsonl", b'{"id": 1, "name": {"a": 1}}\n'))),
    "a row twice": lambda at: write(at, whole(entry("tables/once_key.jsonl", b"{}\n"), entry("tables/guesses.jsonl", b"{\n"),
                                              entry("tables/amp.jsonl", b'{"id": 1}\n{"id": 1}\n'))),
}


def tobuf_is_enough() -> bool:
    """The standard library still lays a plain header out in one block: what the cases above rest on."""
    return len(io.BytesIO(raw_header(b"0", 5)).getvalue()) == 512
