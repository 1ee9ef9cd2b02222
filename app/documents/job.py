"""What a PDF is made from, as it travels to the process that makes it, and what comes back.

Both sides read it without loading a library. There: the seconds it may take, the number of
bytes, then one line of JSON and the bytes it counts. Back: what became of it, the number of bytes, then the PDF or words.
"""

from __future__ import annotations

import enum
import json
import struct
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import BinaryIO

from app.kernel.warm_child import exactly

SCHEME = "paper:"  # every resource of a document is named so; nothing else can be fetched
_ASKED = struct.Struct(">dQ")
_ANSWERED = struct.Struct(">cQ")


class Outcome(enum.Enum):
    """What became of a job. After the last two the process leaves."""

    MADE = b"m"
    REFUSED = b"r"  # the document asked for something that it was not given
    NO_LIBRARIES = b"l"
    BROKE = b"b"


@dataclass(frozen=True)
class Job:
    """A whole HTML document, when it was issued (ISO 8601, UTC), and the resources it may show, by address."""

    html: str
    issued: str
    resources: Mapping[str, bytes] = field(default_factory=dict)

    def pack(self) -> bytes:
        """The bytes to send."""
        page = self.html.encode()
        head = {"issued": self.issued, "html": len(page), "resources": {k: len(v) for k, v in self.resources.items()}}
        return b"".join([json.dumps(head).encode(), b"\n", page, *self.resources.values()])

    @classmethod
    def unpack(cls, data: bytes) -> Job:
        """The other way."""
        line, rest = data.split(b"\n", 1)
        head = json.loads(line)
        html, rest = rest[: head["html"]], rest[head["html"]:]
        resources: dict[str, bytes] = {}
        for name, size in head["resources"].items():
            resources[name], rest = rest[:size], rest[size:]
        return cls(html.decode(), head["issued"], resources)


def ask(to: BinaryIO, job: Job, seconds: float) -> None:
    """Send a job that may take `seconds`."""
    data = job.pack()
    to.write(_ASKED.pack(seconds, len(data)))
    to.write(data)
    to.flush()


def asked(at: BinaryIO) -> tuple[bytes, float]:
    """The next job, still packed, and the seconds it may take. EOFError when whoever asks is gone."""
    seconds, size = _ASKED.unpack(exactly(at, _ASKED.size))
    return exactly(at, size), seconds


def answer(to: BinaryIO, outcome: Outcome, body: bytes) -> None:
    """Send back what became of a job."""
    to.write(_ANSWERED.pack(outcome.value, len(body)))
    to.write(body)
    to.flush()


def answered(at: BinaryIO) -> tuple[Outcome, bytes]:
    """What became of the job. EOFError when the process left without a word, ValueError when it says something else."""
    kind, size = _ANSWERED.unpack(exactly(at, _ANSWERED.size))
    return Outcome(kind), exactly(at, size)
