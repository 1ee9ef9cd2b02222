"""The web server around the application. The only file that knows granian."""

from __future__ import annotations

import os
from pathlib import Path

from flask import Flask

THREADS = 16


def run(app: Flask, host: str, port: int, *, tls: bool, data: Path) -> None:
    """Serve until a signal says stop. One worker process owns the data folder; it ends with this one."""
    from granian import Granian
    from granian.constants import Interfaces
    from granian.log import LogLevels

    os.environ["TAGSTRIP_SERVE_DATA"] = str(app.config["DATA"])
    os.environ["TAGSTRIP_SERVE_SECURE"] = "1" if tls else ""
    certificate, key = data / "tls" / "server.pem", data / "tls" / "server.key"
    Granian("app.wsgi:make", address=host, port=port, interface=Interfaces.WSGI, factory=True, workers=1,
            blocking_threads=THREADS, log_level=LogLevels.warning, websockets=False, respawn_failed_workers=True,
            workers_kill_timeout=5, ssl_cert=certificate if tls else None, ssl_key=key if tls else None).serve()
