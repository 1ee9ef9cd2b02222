"""The web server around the application. The only file that knows granian."""

from __future__ import annotations

import os
import socket
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from app.door.limits import HEADER_SECONDS
from app.errors import Unavailable

# What runs when it is told to end is finished: a page at once, a paper within pdf.LONGEST_SECONDS. What hangs longer is killed.
ENDING_SECONDS = 70

if TYPE_CHECKING:
    from app.trust.tls import Files


def refuse_taken(host: str, port: int) -> None:
    """Unavailable if nothing can listen there."""
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
        with socket.socket(family, kind) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
            probe.listen(1)
    except OSError as wrong:
        raise Unavailable(f"{host} port {port} cannot be listened on: {wrong.strerror or wrong}. "
                          "Choose another with --port or --host.") from wrong


def _inner_port() -> int:
    """A port of this machine alone that nothing listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def run(data: Path, host: str, port: int, *, files: Files | None, names: Sequence[str], proxies: Sequence[str] = (),
        reads: str = "") -> None:
    """Serve until a signal says stop. One worker process owns the data folder; it ends with this one.

    `reads` is the database of a folder that can only be read. Over https the worker itself listens (`app/door/greeting.py`) and
    passes on what speaks TLS to the server, which listens on a port of this machine alone.
    """
    from granian import Granian
    from granian.constants import HTTPModes, Interfaces, SSLProtocols
    from granian.http import HTTP1Settings
    from granian.log import LogLevels

    os.environ["TAGSTRIP_SERVE_DATA"] = str(data)
    os.environ["TAGSTRIP_SERVE_SECURE"] = "1" if files or proxies else ""
    os.environ["TAGSTRIP_SERVE_PORT"], os.environ["TAGSTRIP_SERVE_PROXIES"] = str(port), " ".join(proxies)
    os.environ["TAGSTRIP_SERVE_READS"] = reads
    inner = _inner_port() if files else None
    os.environ["TAGSTRIP_SERVE_HOST"], os.environ["TAGSTRIP_SERVE_INNER"] = host, str(inner or "")
    os.environ["TAGSTRIP_SERVE_NAMES"] = " ".join([host, *names])
    # Tablets that are ten years old still speak TLS 1.2, and nothing better. HTTP/1.1 only: with a choice of two the server waits
    # without a deadline for a connection's first words, to see which it is.
    Granian("app.wsgi:make", address="127.0.0.1" if inner else host, port=inner or port,
            interface=Interfaces.RSGI, factory=True, workers=1,
            http=HTTPModes.http1, http1_settings=HTTP1Settings(header_read_timeout=int(HEADER_SECONDS * 1000)),
            log_level=LogLevels.error, websockets=False, respawn_failed_workers=True,
            workers_kill_timeout=ENDING_SECONDS, ssl_protocol_min=SSLProtocols.tls12, ssl_cert=files.certificate if files else None,
            ssl_key=files.key if files else None).serve()
