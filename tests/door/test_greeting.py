"""What the https port says to who speaks something else there, and that who speaks TLS is seen as who they are.

Over real sockets.
"""

from __future__ import annotations

import contextlib
import http.client
import shutil
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.door import limits
from app.door.greeting import Greeter, listen
from tests.commands.served import free_port, serving
from tests.people import Cast

GUEST = "127.0.0.2"  # another address of this machine's loopback (Linux)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, sqlite_templates: tuple[Path, Path, Cast]) -> Iterator[tuple[int, Path]]:
    """A shop over https: its port and folder."""
    data = tmp_path_factory.mktemp("https")
    shutil.copy(sqlite_templates[1], data / "tagstrip.db")
    port = free_port()
    with serving(data, port, "--tls"):
        yield port, data


def said(port: int, words: bytes, *, patience: float = 30.0) -> bytes:
    """All that comes back until the other end closes."""
    with socket.create_connection(("127.0.0.1", port), patience) as one:
        one.sendall(words)
        found = b""
        with contextlib.suppress(ConnectionResetError):
            while piece := one.recv(4096):
                found += piece
        return found


def trusting(data: Path) -> ssl.SSLContext:
    return ssl.create_default_context(cafile=str(data / "tls/ca.pem"))


def asked(port: int, data: Path, *, source: str = "127.0.0.1", method: str = "GET", path: str = "/healthz",
          body: bytes | None = None) -> tuple[int, bytes]:
    connection = http.client.HTTPSConnection("127.0.0.1", port, context=trusting(data), timeout=60, source_address=(source, 0))
    with contextlib.closing(connection):
        connection.request(method, path, body, {"Content-Type": "application/x-www-form-urlencoded"} if body else {})
        with connection.getresponse() as answer:
            return answer.status, answer.read()


@pytest.mark.parametrize("words", [
    b"GET /orders/7?q=secret HTTP/1.1\r\nHost: localhost:8443\r\nUser-Agent: a browser\r\n\r\n",
    b"POST /people/sign-in HTTP/1.1\r\nHost: localhost:8443\r\nContent-Length: 11\r\n\r\npassword=hush",
    b"HEAD / HTTP/1.0\r\nHost: localhost:8443\r\n\r\n",
], ids=["GET", "POST", "HEAD"])
def test_plain_http_is_told_in_words_where_the_shop_is(shop: tuple[int, Path], words: bytes) -> None:
    head, _, body = said(shop[0], words).partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 400 ")
    fields = {line.split(b":")[0].lower(): line.split(b":", 1)[1].strip() for line in head.split(b"\r\n")[1:]}
    assert b"location" not in fields and fields[b"connection"] == b"close" and fields[b"cache-control"] == b"no-store"
    if words.startswith(b"HEAD"):
        assert not body
        return
    assert int(fields[b"content-length"]) == len(body)
    assert f"This shop speaks https only. Open https://localhost:{shop[0]}/".encode() in body and b"Nothing was saved" in body
    assert b"secret" not in body and b"hush" not in body, "what was sent in the clear is not repeated"


@pytest.mark.parametrize("host", [b"evil.example", b"localhost:1@evil.example", b"<script>", b""])
def test_a_foreign_name_is_not_led_to(shop: tuple[int, Path], host: bytes) -> None:
    body = said(shop[0], b"GET / HTTP/1.1\r\nHost: " + host + b"\r\n\r\n").partition(b"\r\n\r\n")[2]
    assert b"This shop speaks https only" in body and b"evil" not in body and b"<" not in body


def test_a_form_of_some_length_reads_the_answer_too(shop: tuple[int, Path]) -> None:
    """An end with something unread would reset the connection, and take the answer with it."""
    words = b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60000\r\n\r\n" + b"x" * 60_000
    assert said(shop[0], words).startswith(b"HTTP/1.1 400 ")


@pytest.mark.parametrize("words", [b"SSH-2.0-somebody\r\n", b"\x00" * 64, b"GET" + b"x" * 20_000],
                         ids=["ssh", "zeroes", "a long head"])
def test_what_is_neither_is_let_go_without_a_word(shop: tuple[int, Path], words: bytes) -> None:
    assert said(shop[0], words) == b""


@pytest.mark.parametrize("words", [b"", b"GET / HT", b"\x16\x03\x01\x02\x00\x01", b"\x16\x03\x01\xff\xff\x01"],
                         ids=["silence", "half a head", "half a greeting", "a greeting longer than any"])
def test_who_does_not_go_on_is_let_go_in_time(shop: tuple[int, Path], words: bytes) -> None:
    begun = time.monotonic()
    answer = said(shop[0], words, patience=limits.HEADER_SECONDS + 20)
    assert time.monotonic() - begun < limits.HEADER_SECONDS + 3
    assert answer == b"" or answer.startswith(b"HTTP/1.1 400 ")


def test_many_who_do_not_go_on_stop_nobody(shop: tuple[int, Path]) -> None:
    port, data = shop
    with contextlib.ExitStack() as stack:
        for number in range(150):
            one = stack.enter_context(socket.create_connection(("127.0.0.1", port), 10, (GUEST, 0)))
            one.sendall((b"", b"GET / HT", b"\x16\x03\x01\x02\x00\x01")[number % 3])
        begun = time.monotonic()
        assert asked(port, data)[0] == 200
        assert time.monotonic() - begun < 5


def test_a_request_over_tls_is_of_its_own_address(shop: tuple[int, Path]) -> None:
    """Budgets and the door's log go by it: behind the port all connections would be this machine's."""
    port, data = shop
    status, _ = asked(port, data, source=GUEST, method="POST", path="/people/sign-in", body=b"x" * 100_000)
    assert status == 413
    assert f'"{GUEST}"' in (data / "door.log").read_text(encoding="ascii")


def test_much_is_passed_whole_both_ways(shop: tuple[int, Path]) -> None:
    port, data = shop
    assert asked(port, data, method="POST", path="/people/sign-in", body=b"x" * 3_000_000)[0] == 413
    status, told = asked(port, data, path="/static/js/main.mjs")
    assert status == 200 and len(told) > 100


def test_the_inner_port_answers_nobody_but_the_door(shop: tuple[int, Path]) -> None:
    """Who comes past the door has no address of their own, and would be taken for this machine."""
    port, data = shop
    inner = [number for number in listening_on_loopback() if number != port and speaks_for_us(number, data)]
    assert inner == []


def test_what_was_said_before_the_end_reaches_who_reads_slowly() -> None:
    """The server ends once it has said all; the process must not end before that has been passed on."""
    much = b"a paper" * 6_000_000  # more than the system keeps for a socket
    with socket.create_server(("127.0.0.1", 0)) as inner:
        greeter = Greeter(listen("127.0.0.1", 0), inner.getsockname()[1], lambda _host: True)
        greeter.start()
        with socket.create_connection(("127.0.0.1", greeter.port), 10) as one:
            one.sendall(b"\x16\x03\x01\x00\x01x")
            server, _ = inner.accept()
            with server:
                assert server.recv(100) == b"\x16\x03\x01\x00\x01x"
                said = threading.Thread(target=server.sendall, args=(much,))
                said.start()
                finished = threading.Thread(target=greeter.finish, args=(20.0,))
                finished.start()
                time.sleep(1.0)
                assert finished.is_alive(), "it ended with something still to pass on"
                found = bytearray()
                while len(found) < len(much):
                    found += one.recv(1 << 20)
                said.join()
            assert found == much and one.recv(10) == b""
        finished.join(timeout=10)
        assert not finished.is_alive()


def test_only_ciphers_with_forward_secrecy_and_authentication_are_spoken(shop: tuple[int, Path]) -> None:
    """RFC 9325 (BCP 195), 4.2, from memory: ECDHE with AES-GCM or ChaCha20-Poly1305. Each that OpenSSL here knows is tried."""
    port, data = shop
    spoken = set()
    known = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    known.set_ciphers("ALL:@SECLEVEL=0")
    for cipher in (one["name"] for one in known.get_ciphers() if one["protocol"] != "TLSv1.3"):
        only = trusting(data)
        only.maximum_version = ssl.TLSVersion.TLSv1_2
        only.set_ciphers(f"{cipher}:@SECLEVEL=0")
        with contextlib.suppress(ssl.SSLError, ConnectionResetError), \
                socket.create_connection(("127.0.0.1", port), 10) as plain, \
                only.wrap_socket(plain, server_hostname="localhost") as one:
            spoken.add(one.cipher())
    names = {one[0] for one in spoken if one}
    assert names, "no cipher of TLS 1.2 is spoken: nothing was shown"
    assert all(name.startswith("ECDHE-ECDSA-") and ("GCM" in name or "CHACHA20" in name) for name in names), names


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1])
@pytest.mark.filterwarnings("ignore:ssl.TLSVersion:DeprecationWarning")
def test_older_tls_is_not_spoken(shop: tuple[int, Path], version: ssl.TLSVersion) -> None:
    port, data = shop
    old = trusting(data)
    old.minimum_version, old.maximum_version = version, version
    old.set_ciphers("ALL:@SECLEVEL=0")
    with pytest.raises((ssl.SSLError, ConnectionResetError)), socket.create_connection(("127.0.0.1", port), 10) as plain:
        old.wrap_socket(plain, server_hostname="localhost")


def listening_on_loopback() -> list[int]:
    """Ports of 127.0.0.1 on which anything listens (Linux)."""
    found = []
    for line in Path("/proc/net/tcp").read_text(encoding="ascii").splitlines()[1:]:
        place, state = line.split()[1], line.split()[3]
        if state == "0A" and place.startswith("0100007F:"):
            found.append(int(place.split(":")[1], 16))
    return found


def speaks_for_us(port: int, data: Path) -> bool:
    try:
        return asked(port, data)[0] != 421
    except (OSError, http.client.HTTPException):
        return False
