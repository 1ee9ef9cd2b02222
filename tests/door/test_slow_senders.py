"""Half-sent forms, silent connections and slow readers keep nobody else from a page. Served, over real sockets."""

from __future__ import annotations

import contextlib
import http.client
import shutil
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.commands.served import free_port, serving
from tests.people import Cast

HALF_SENT = 64
PAGES = 20
GUEST = "127.0.0.2"  # another address of this machine's loopback (Linux)


@pytest.fixture
def shop(tmp_path: Path, sqlite_templates: tuple[Path, Path, Cast]) -> Path:
    shutil.copy(sqlite_templates[1], tmp_path / "tagstrip.db")
    return tmp_path


@contextlib.contextmanager
def guests(port: int, count: int, says: bytes) -> Iterator[list[socket.socket]]:
    """Connections of one guest, each of which says this and then nothing."""
    with contextlib.ExitStack() as stack:
        found = []
        for _ in range(count):
            one = stack.enter_context(socket.create_connection(("127.0.0.1", port), 10, (GUEST, 0)))
            one.sendall(says)
            found.append(one)
        yield found


def ask(port: int, path: str, method: str = "GET", body: Any = None) -> tuple[int, bytes, str]:
    """Status, body, and how the server names itself."""
    with contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as asking:
        asking.request(method, path, body, {"Content-Type": "application/x-www-form-urlencoded"} if body else {})
        with asking.getresponse() as answer:
            return answer.status, answer.read(), answer.headers.get("Server", "")


def page(port: int) -> float:
    """Seconds until the sign-in page was there."""
    begun = time.monotonic()
    status, body, _ = ask(port, "/people/sign-in")
    assert status == 200 and b"Password" in body
    return time.monotonic() - begun


def half(length: int) -> bytes:
    return (f"POST /people/sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\n"
            f"Content-Length: {length}\r\n\r\nname=").encode()


def is_silent(one: socket.socket) -> bool:
    """Whether nothing has come from the server, not even the end."""
    one.setblocking(False)
    try:
        one.recv(1, socket.MSG_PEEK)
    except BlockingIOError:
        return True
    except ConnectionResetError:
        return False
    return False


def end_of(one: socket.socket) -> bytes:
    """The first line that the server says, waited for; empty if it only ends the connection."""
    one.settimeout(60)
    with contextlib.suppress(ConnectionResetError):
        return one.recv(2000).split(b"\r\n")[0]
    return b""


def test_sixty_four_half_sent_forms_stop_no_page_and_each_of_them_ends(shop: Path) -> None:
    port = free_port()
    with serving(shop, port):
        page(port)  # the first loads what every page needs
        alone = max(page(port) for _ in range(PAGES))
        with guests(port, HALF_SENT, half(60_000)) as waiting:
            beside = max(page(port) for _ in range(PAGES))
            assert sum(is_silent(one) for one in waiting) >= 16, "all were refused before a page was asked for: nothing was shown"
            print(f"\nslowest of {PAGES} pages: {alone * 1000:.0f} ms alone, {beside * 1000:.0f} ms beside {HALF_SENT} half-sent")
            said = [end_of(one) for one in waiting]
        assert {one.split(b" ")[1] for one in said if one} <= {b"408", b"503"} and said.count(b"") < HALF_SENT
        assert page(port)


@pytest.mark.parametrize("says", [b"", b"GET / HTT", b"\x16\x03\x01\x00"], ids=["silence", "half a head", "half a greeting"])
def test_connections_without_a_request_stop_no_page_and_are_thinned_out(shop: Path, says: bytes) -> None:
    port = free_port()
    with serving(shop, port), guests(port, 200, says) as waiting:
        assert page(port)
        until = time.monotonic() + 30
        while sum(is_silent(one) for one in waiting) > 64 and time.monotonic() < until:
            time.sleep(0.1)
        assert sum(is_silent(one) for one in waiting) <= 64
        assert page(port)


def test_more_than_words_from_somebody_unknown_is_read_away_and_refused(shop: Path) -> None:
    port = free_port()
    with serving(shop, port):
        status, body, _ = ask(port, "/people/sign-in", "POST", b"x" * 3_000_000)
        assert status == 413 and b"up to 64 kB" in body


def test_body_of_unknown_length_is_refused(shop: Path) -> None:
    """A body in pieces that is cut off looks whole; no browser sends a form so."""
    port = free_port()
    with serving(shop, port):
        assert ask(port, "/people/sign-in", "POST", iter([b"name=a"]))[0] == 411


def test_the_server_does_not_name_itself(shop: Path) -> None:
    port = free_port()
    with serving(shop, port):
        assert [ask(port, path)[2] for path in ("/people/sign-in", "/nothing/here", "/static/js/main.mjs")] == ["", "", ""]
