"""Where a data folder may lie: on a disk of this machine. SQLite's locks cannot be trusted over a network."""

from __future__ import annotations

import re
from pathlib import Path

from app.errors import Unavailable

MOUNTS = Path("/proc/mounts")
OVER_THE_NETWORK = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "ceph", "glusterfs", "fuse.glusterfs",
                    "fuse.sshfs", "davfs", "fuse.davfs2", "fuse.rclone"}


def kind_of(folder: Path, mounts: str) -> str:
    """The kind of file system that holds this absolute path, by the lines of /proc/mounts; '' if none is told."""
    found, kind = "", ""
    for line in mounts.splitlines():
        words = line.split()
        if len(words) < 3:
            continue
        point = re.sub(r"\\([0-7]{3})", lambda octal: chr(int(octal[1], 8)), words[1])
        if len(point) >= len(found) and folder.is_relative_to(point):
            found, kind = point, words[2]
    return kind


def refuse_network(data: Path) -> None:
    """Unavailable if the folder is mounted over a network. Where the system does not tell, nothing is refused."""
    if not MOUNTS.is_file():
        return
    kind = kind_of(data.resolve(), MOUNTS.read_text(encoding="utf-8", errors="replace"))
    if kind in OVER_THE_NETWORK:
        raise Unavailable(f"{data} is mounted over the network ({kind}): the database could be spoiled there. "
                          "Keep the data folder on a disk of this machine, and put backups on the network.")


def refuse_missing(data: Path, *, sqlite: bool) -> None:
    """Unavailable if there is no shop in this folder: a mistyped name must not become an empty shop."""
    start = f"name the shop's folder with --data, or start a new shop with: ./tagstrip serve --data {data}"
    if not data.is_dir():
        raise Unavailable(f"There is no data folder {data}; {start}")
    if sqlite and not (data / "tagstrip.db").is_file():
        raise Unavailable(f"{data} holds no Tagstrip database; {start}")
