"""The backup file: a plain tar with `manifest.json`, one `tables/<name>.jsonl` a table and one `files/<sha256>` a file.

Readable without Tagstrip. Names are ours on writing and checked on reading; nothing is ever extracted by an archive's names.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import tarfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.errors import BadInput

FORMAT = 1
MANIFEST = "manifest.json"
_NAME = re.compile(r"(manifest\.json|tables/[a-z_]{1,60}\.jsonl|files/[0-9a-f]{64})")
MOST_MEMBERS = 200_000


@dataclass(frozen=True)
class Manifest:
    """What the archive must hold: schema revision, and the SHA-256 and size of every member."""

    revision: str
    made_at: str
    journal_head: str
    members: dict[str, dict[str, Any]]
    troubles: tuple[str, ...] = ()  # what did not fit in the shop when it was kept

    def as_json(self) -> bytes:
        told = {"format": FORMAT, "revision": self.revision, "made_at": self.made_at, "journal_head": self.journal_head,
                "troubles": self.troubles, "members": self.members}
        return json.dumps(told, indent=1).encode()


def add(archive: tarfile.TarFile, name: str, data: bytes, members: dict[str, dict[str, Any]]) -> None:
    """Write one member and note its hash."""
    info = tarfile.TarInfo(name)
    info.size, info.mode = len(data), 0o600
    archive.addfile(info, io.BytesIO(data))
    members[name] = {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}


def jsonl(rows: Iterable[dict[str, Any]]) -> bytes:
    """One JSON object a line."""
    return b"".join(json.dumps(row, ensure_ascii=False, sort_keys=True).encode() + b"\n" for row in rows)


def check(path: Path) -> Manifest:
    """Read the whole archive and hold it against its manifest; BadInput names the first thing that is wrong."""
    try:
        with tarfile.open(path, "r:") as archive:
            return _check(archive)
    except tarfile.TarError as wrong:
        raise BadInput(f"{path} is not a Tagstrip backup: {wrong}.") from wrong


def _check(archive: tarfile.TarFile) -> Manifest:
    seen: dict[str, tarfile.TarInfo] = {}
    for member in archive:
        if not member.isreg() or not _NAME.fullmatch(member.name):
            raise BadInput(f"The backup holds “{member.name}”, which is not part of a Tagstrip backup. Nothing was restored.")
        if member.name in seen or len(seen) >= MOST_MEMBERS:
            raise BadInput(f"The backup holds “{member.name}” twice, or too much. Nothing was restored.")
        seen[member.name] = member
    if MANIFEST not in seen:
        raise BadInput("The backup has no manifest: it was not finished. Nothing was restored.")
    manifest = _manifest(_read(archive, seen.pop(MANIFEST)))
    if missing := sorted(manifest.members.keys() - seen.keys()):
        raise BadInput(f"The backup lacks {missing[0]}. Nothing was restored.")
    for name, member in seen.items():
        told = manifest.members.get(name)
        if told is None or hashlib.sha256(_read(archive, member)).hexdigest() != told["sha256"]:
            raise BadInput(f"{name} in the backup is not what was written. Nothing was restored.")
    return manifest


def _manifest(data: bytes) -> Manifest:
    try:
        told = json.loads(data)
        if told["format"] != FORMAT:
            raise BadInput(f"The backup has format {told['format']}; this Tagstrip reads {FORMAT}.")
        return Manifest(told["revision"], told["made_at"], told["journal_head"], told["members"],
                        tuple(str(one) for one in told.get("troubles", ())))
    except (ValueError, KeyError, TypeError) as wrong:
        raise BadInput("The backup's manifest cannot be read. Nothing was restored.") from wrong


def _read(archive: tarfile.TarFile, member: tarfile.TarInfo) -> bytes:
    file = archive.extractfile(member)
    return file.read() if file else b""


def read(archive: tarfile.TarFile, name: str) -> bytes:
    """One member's bytes, of an archive that was checked."""
    return _read(archive, archive.getmember(name))
