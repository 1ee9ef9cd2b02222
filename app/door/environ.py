"""A request of the server as WSGI has it (PEP 3333), and what its headers say of its body."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import IO, Any, Protocol

# A name with an underscore would become that of another header (X_Forwarded_For), and so pass where that one is refused.
_OWN = {"content-type": "CONTENT_TYPE", "content-length": "CONTENT_LENGTH"}


class Headers(Protocol):
    """Of a request; a name may come twice."""

    def items(self) -> Iterable[tuple[str, str]]: ...


class Scope(Protocol):
    """What the server knows of a request before its body."""

    proto: str
    http_version: str
    server: str
    client: str
    scheme: str
    method: str
    path: str
    query_string: str

    @property
    def headers(self) -> Headers: ...


def peer(scope: Scope) -> str:
    """The address at the other end of the connection, without its port."""
    return scope.client.rsplit(":", 1)[0].strip("[]")


def length(scope: Scope) -> int | None:
    """How long the body is to be; 0 for none, None if that is not said, as in pieces, or said in two ways."""
    told = {value.strip() for name, value in scope.headers.items() if name == "content-length"}
    if any(name == "transfer-encoding" for name, _ in scope.headers.items()) or len(told) > 1:
        return None
    only = next(iter(told), "0")
    return int(only) if only.isascii() and only.isdigit() and len(only) < 16 else None


def environ(scope: Scope, body: IO[bytes], size: int) -> dict[str, Any]:
    """For the application: text as latin-1, as the standard has it; headers that came twice joined."""
    host, _, port = scope.server.rpartition(":")
    found: dict[str, Any] = {
        "REQUEST_METHOD": scope.method, "SCRIPT_NAME": "", "PATH_INFO": scope.path.encode().decode("latin-1"),
        "QUERY_STRING": scope.query_string, "SERVER_NAME": host, "SERVER_PORT": port, "REMOTE_ADDR": peer(scope),
        "SERVER_PROTOCOL": f"HTTP/{scope.http_version}", "wsgi.version": (1, 0), "wsgi.url_scheme": scope.scheme,
        "wsgi.input": body, "wsgi.errors": sys.stderr, "wsgi.multithread": True, "wsgi.multiprocess": False, "wsgi.run_once": False,
    }
    for name, value in scope.headers.items():
        if "_" in name:
            continue
        key = _OWN.get(name) or f"HTTP_{name.upper().replace('-', '_')}"
        found[key] = f"{found[key]}{'; ' if name == 'cookie' else ','}{value}" if key in found else value
    if "CONTENT_LENGTH" in found:
        found["CONTENT_LENGTH"] = str(size)
    return found
