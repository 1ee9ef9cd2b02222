"""The start: how long until the program says its first words, and until a shop's first page is there."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

from app.commands.benchmarks.figure import Figure, compare
from app.errors import Unavailable

STARTER = Path(__file__).resolve().parents[3] / "tagstrip"
NOTHING = "Python started for nothing"
PATIENCE = 60.0


def figures(folder: Path) -> Iterator[Figure]:
    """The starting file's help, and the shop in `folder` served up to its first page."""

    def run(*words: str) -> None:
        subprocess.run([sys.executable, *words], capture_output=True, check=True)  # noqa: S603

    yield compare("the first words", lambda: run(str(STARTER), "--help"), NOTHING, lambda: run("-c", "pass"))
    yield compare("a shop served, to its first page", lambda: _first_page(folder), NOTHING, lambda: run("-c", "pass"))


def _first_page(folder: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    env = {name: value for name, value in os.environ.items() if not name.startswith("TAGSTRIP_")}
    line = [sys.executable, "-P", "-m", "app.cli", "serve", "--data", str(folder), "--port", str(port)]
    server = subprocess.Popen(line, env=env | {"PYTHONPATH": str(STARTER.parent)}, stdout=subprocess.DEVNULL,  # noqa: S603
                              stderr=subprocess.DEVNULL)
    try:
        _wait_for(f"http://127.0.0.1:{port}/people/sign-in", server)
    finally:
        server.send_signal(signal.SIGINT)
        server.wait()


def _wait_for(page: str, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + PATIENCE
    while True:
        try:
            with urllib.request.urlopen(page, timeout=PATIENCE) as answer:  # noqa: S310 - ours, on loopback
                answer.read()
                return
        except urllib.error.HTTPError:
            raise
        except OSError:
            if server.poll() is not None or time.monotonic() > until:
                raise Unavailable("The shop of the run could not be served, so its start was not measured.") from None
            time.sleep(0.01)
