"""A real server in a process of its own, to be killed at any moment and started again."""

from __future__ import annotations

import http.client
import io
import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from werkzeug.datastructures import FileStorage
from werkzeug.test import encode_multipart

ROOT = Path(__file__).resolve().parents[2]


class Shop:
    """`serve` on a data folder. `kill` is kill -9 for the server and its worker."""

    def __init__(self, data: Path, database_url: str) -> None:
        self.data, self.database_url = data, database_url
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> float:
        """Serve; returns the seconds until it answered."""
        self.launch()
        return self.wait()

    def launch(self) -> None:
        """Begin to serve."""
        with (self.data / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "app.cli", "serve", "--data", str(self.data), "--port", str(self.port)],
                cwd=ROOT,
                env={**os.environ, "TAGSTRIP_DATABASE_URL": self.database_url}, start_new_session=True,
                stdout=subprocess.DEVNULL, stderr=log)

    def wait(self) -> float:
        """Until it answers; returns the seconds that took."""
        began = time.monotonic()
        while time.monotonic() - began < 60:
            try:
                if Browser(self, "").ask("/healthz", timeout=5)[0] == 200:
                    return time.monotonic() - began
            except ConnectionError:
                assert self.process is not None and self.process.poll() is None, (self.data / "server.log").read_text()
                time.sleep(0.05)
        raise AssertionError((self.data / "server.log").read_text())

    def kill(self) -> None:
        """As a power cut would, but for the disk: the whole process group at once."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None


class Browser:
    """Just enough of one to post a form: cookies of an open sign-in, no redirects followed."""

    def __init__(self, shop: Shop, token: str) -> None:
        self.shop, self.token = shop, token

    def ask(self, path: str, data: dict[str, Any] | None = None, *, timeout: float = 30) -> tuple[int, str]:
        """Status and text; bytes in `data` become an upload. ConnectionError if the server dies meanwhile."""
        connection = http.client.HTTPConnection("127.0.0.1", self.shop.port, timeout=timeout)
        headers = {"Cookie": f"tagstrip_sign_in={self.token}"}
        try:
            if data is None:
                connection.request("GET", path, headers=headers)
            else:
                sent = {name: FileStorage(io.BytesIO(value), "photo.jpg") if isinstance(value, bytes) else value
                        for name, value in data.items()}
                boundary, body = encode_multipart(sent)
                headers["Content-Type"] = f"multipart/form-data; boundary={boundary}"
                connection.request("POST", path, body=body, headers=headers)
            answer = connection.getresponse()
            return answer.status, answer.read().decode("utf-8", "replace")
        except (OSError, http.client.HTTPException) as gone:
            raise ConnectionError(str(gone)) from gone
        finally:
            connection.close()

    def fields(self, path: str) -> dict[str, str]:
        """The two hidden fields of the form in this page's main part."""
        _, page = self.ask(path)
        return {name: re.findall(rf'name="{name}" value="([^"]+)"', page)[-1] for name in ("page_token", "once")}
