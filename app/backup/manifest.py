"""What an archive must hold: its manifest, a line for each member, and the root over them all. Pure."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass

from app.errors import BadInput

FORMAT = 2


@dataclass(frozen=True)
class Manifest:
    """What the archive must hold: schema revision, root, and how many members of how many bytes its list names."""

    revision: str
    made_at: str
    journal_head: str
    troubles: tuple[str, ...] = ()  # what did not fit in the shop when it was kept
    root: str = ""  # "" in the first format
    members: int = 0
    size: int = 0  # bytes of all members
    list_sha256: str = ""  # of members.jsonl
    told: tuple[tuple[str, str, int], ...] = ()  # the first format's list

    @property
    def written(self) -> bytes:
        """As it is written."""
        told = {"format": FORMAT, **{name: value for name, value in asdict(self).items() if name != "told"}}
        return json.dumps(told, indent=1).encode()

    @property
    def identity(self) -> str:
        """What tells this backup from every other."""
        all_of_it = (self.revision, self.made_at, self.journal_head, self.list_sha256, self.told)
        return hashlib.sha256(repr(all_of_it).encode()).hexdigest()


@dataclass(frozen=True)
class Listed:
    """One line of the list."""

    name: str
    sha256: str
    size: int

    @property
    def line(self) -> bytes:
        """As it is written."""
        return json.dumps(asdict(self)).encode() + b"\n"


class Root:
    """Adds up the root. Files in order of their names; tables in any."""

    def __init__(self) -> None:
        self._sum = hashlib.sha256()
        self._tables: dict[str, str] = {}

    def add(self, name: str, sha256: str) -> None:
        """One member with the hash of its content."""
        if name.startswith("tables/"):
            self._tables[name] = sha256
        else:
            self._sum.update(f"{sha256}  {name}\n".encode())

    def hex(self) -> str:
        """The root over all that was added."""
        found = self._sum.copy()
        for name in sorted(self._tables):
            found.update(f"{self._tables[name]}  {name}\n".encode())
        return found.hexdigest()


def read(data: bytes) -> Manifest:
    """The manifest as either format writes it; BadInput if it is none."""
    try:
        told = json.loads(data)
        if told["format"] not in (1, FORMAT):
            raise BadInput(f"The backup has format {told['format']}; this Tagstrip reads 1 and {FORMAT}.")
        said = (str(told["revision"]), str(told["made_at"]), str(told["journal_head"]),
                tuple(str(one) for one in told.get("troubles", ())))
        if told["format"] == 1:
            listed = tuple((str(name), str(one["sha256"]), int(one["bytes"])) for name, one in told["members"].items())
            return Manifest(*said, members=len(listed), size=sum(size for _, _, size in listed), told=listed)
        return Manifest(*said, str(told["root"]), int(told["members"]), int(told["size"]), str(told["list_sha256"]))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as wrong:
        raise BadInput("The backup's manifest cannot be read.") from wrong
