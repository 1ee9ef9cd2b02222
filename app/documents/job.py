"""What a PDF is made from, as it travels to the process that makes it: one line of JSON, then the bytes it counts.

Standard library only, so that both sides read it without loading anything else.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

SCHEME = "paper:"  # every resource of a document is named so; nothing else can be fetched


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
