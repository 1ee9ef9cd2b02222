"""`serve` in a process of its own on a blank shop."""

from __future__ import annotations

import contextlib
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port


def command(*words: str, said: str | None = None) -> subprocess.CompletedProcess[str]:
    """Run one command to its end."""
    env = {name: value for name, value in os.environ.items() if not name.startswith("TAGSTRIP_")}
    return subprocess.run([sys.executable, "-m", "app.cli", *words], cwd=ROOT, env=env, capture_output=True, text=True,
                          timeout=60, check=False, input=said)


@contextlib.contextmanager
def serving(data: Path, port: int, *words: str) -> Iterator[subprocess.Popen[str]]:
    """Served until the block ends; entered once something listens."""
    env = {name: value for name, value in os.environ.items() if not name.startswith("TAGSTRIP_")}
    process = subprocess.Popen([sys.executable, "-m", "app.cli", "serve", "--data", str(data), "--port", str(port), *words],
                               cwd=ROOT, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        until = time.monotonic() + 60
        while process.poll() is None and time.monotonic() < until:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
                break
            time.sleep(0.05)
        assert process.poll() is None, process.stderr.read() if process.stderr else ""
        yield process
    finally:
        process.terminate()
        process.communicate(timeout=30)
