"""The front by itself: pace, turns, pieces and proxies, with the other end played by hand and no waiting for real."""

from __future__ import annotations

import asyncio
import io
from collections.abc import AsyncIterator, Coroutine, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any, TypeVar

import pytest

from app.cli import main
from app.door.front import Front
from app.door.limits import PIECE, Pace
from app.door.proxy import NotOverProxy, Proxies, read
from app.door.turns import Full, Turns
from app.kernel.sizes import MEGABYTE

Fields = list[tuple[str, str]]
Result = TypeVar("Result")
QUICK = Pace(grace=0.05, least=1_000_000, longest=0.2)


def run(play: Coroutine[Any, Any, Result]) -> Result:
    """To its end, in a thread of its own: the browser of other tests keeps a loop running in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, play).result()


@dataclass
class Head:
    """What the server would know of a request."""

    fields: Fields = field(default_factory=list)
    method: str = "POST"
    path: str = "/people/sign-in"
    proto: str = "http"
    http_version: str = "1.1"
    server: str = "127.0.0.1:8077"
    client: str = "192.168.1.7:50000"
    scheme: str = "http"
    query_string: str = ""

    @property
    def headers(self) -> Head:
        return self

    def items(self) -> Iterable[tuple[str, str]]:
        return self.fields


class Other:
    """The other end: sends these pieces, then stays silent or ends; keeps what it is answered."""

    def __init__(self, pieces: Iterable[bytes] = (), *, silent: bool = False) -> None:
        self._pieces, self._silent = list(pieces), silent
        self.status, self.fields, self.body, self.sent = 0, dict[str, str](), b"", 0

    async def __aiter__(self) -> AsyncIterator[bytes]:
        for one in self._pieces:
            yield one
        if self._silent:
            await asyncio.Event().wait()

    def response_bytes(self, status: int, headers: Fields, body: bytes) -> None:
        self.status, self.fields, self.body = status, dict(headers), body

    def response_stream(self, status: int, headers: Fields) -> Other:
        self.status, self.fields = status, dict(headers)
        return self

    async def send_bytes(self, data: bytes) -> None:
        self.body += data
        self.sent += 1


class Application:
    """Answers with what it was sent; remembers the environments it saw."""

    def __init__(self, answer: Iterable[bytes] | None = None) -> None:
        self.seen: list[dict[str, Any]] = []
        self._answer, self.closed = answer, False

    def __call__(self, environ: dict[str, Any], start: Any) -> Any:
        self.seen.append(environ)
        start("200 OK", [("Content-Type", "text/plain")])
        self._given = iter(self._answer if self._answer is not None else [environ["wsgi.input"].read()])
        return self

    def __iter__(self) -> Any:
        return self._given

    def close(self) -> None:
        self.closed = True


def asked(app: Application, head: Head, other: Other, *, known: bool = True, proxies: Proxies | None = None) -> Other:
    run(Front(app, 2, lambda _cookies: known, proxies, QUICK).__rsgi__(head, other))
    return other


def test_body_is_whole_before_the_application_is_asked() -> None:
    app = Application()
    found = asked(app, Head([("content-length", "6")]), Other([b"abc", b"def"]))
    assert (found.status, found.body, app.closed) == (200, b"abcdef", True)


@pytest.mark.parametrize(("fields", "other", "status"), [
    ([("content-length", "6")], Other([b"abc"], silent=True), 408), ([("content-length", "6")], Other([b"abc"]), 400),
    ([("transfer-encoding", "chunked")], Other([b"abc"]), 411), ([("content-length", "-6")], Other([b"abc"]), 411),
    ([("content-length", "3"), ("content-length", "6")], Other([b"abc"]), 411)],
    ids=["silent", "torn", "in pieces", "below nothing", "two lengths"])
def test_what_is_not_whole_never_reaches_the_application(fields: Fields, other: Other, status: int) -> None:
    app = Application()
    assert asked(app, Head(fields), other).status == status and app.seen == []
    assert other.fields["connection"] == "close"


def test_a_trickle_ends_at_its_rate() -> None:
    """Bytes that keep coming, one by one, do not put the end off."""
    class Trickle(Other):
        async def __aiter__(self) -> AsyncIterator[bytes]:
            for _ in range(1000):
                await asyncio.sleep(0.01)
                yield b"x"

    assert asked(Application(), Head([("content-length", "1000")]), Trickle()).status == 408


def test_pace_is_met_by_what_a_slow_network_gives_and_bounded() -> None:
    pace = Pace()
    assert pace.until(0) == 10 and pace.until(40 * 1024) == 20  # 4 kB a second after ten seconds
    assert pace.until(60 * MEGABYTE) == 1800


def test_large_body_of_somebody_unknown_is_read_away() -> None:
    app, size = Application(), 100 * 1024
    head = Head([("content-length", str(size)), ("cookie", "tagstrip_sign_in=guessed")])
    found = asked(app, head, Other([bytes(size)]), known=False)
    assert found.body == b"" and app.seen[0]["tagstrip.body_dropped"] == "1"
    assert asked(app, Head([("content-length", str(size)), ("cookie", "a=b")]), Other([bytes(size)])).body == bytes(size)
    assert asked(app, Head([("content-length", str(size))]), Other([bytes(size)])).body == b""  # no cookie at all


def test_no_more_than_can_be_drained_is_read() -> None:
    app = Application()
    assert asked(app, Head([("content-length", str(2000 * MEGABYTE))]), Other(silent=True)).status == 400 and app.seen == []


def test_long_answer_goes_piece_by_piece_and_is_closed() -> None:
    app = Application([bytes(PIECE // 2)] * 7)
    found = asked(app, Head(method="GET"), Other())
    assert (len(found.body), found.sent, app.closed) == (PIECE // 2 * 7, 4, True)


def test_reader_who_takes_nothing_loses_the_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    class Stopped(Other):
        async def send_bytes(self, data: bytes) -> None:
            await asyncio.Event().wait()

    monkeypatch.setattr("app.door.limits.READER_SECONDS", 0.05)
    app = Application([bytes(PIECE)] * 3)
    asked(app, Head(method="GET"), Stopped())
    assert app.closed


def test_header_that_would_pass_for_another_is_left_out() -> None:
    app = Application()
    asked(app, Head([("x_forwarded_for", "10.0.0.1"), ("x-forwarded-for", "10.0.0.1"), ("forwarded", "for=10.0.0.1"),
                     ("cookie", "a=1"), ("cookie", "b=2"), ("x-page-token", "t")], method="GET"), Other())
    seen = app.seen[0]
    assert seen["REMOTE_ADDR"] == "192.168.1.7" and seen["HTTP_COOKIE"] == "a=1; b=2" and seen["HTTP_X_PAGE_TOKEN"] == "t"
    assert not [name for name in seen if "FORWARDED" in name]


OURS = Proxies(read(["192.168.1.7", "10.9.0.0/24"]))
OVER = [("x-forwarded-proto", "https")]


@pytest.mark.parametrize(("hops", "asks"), [
    ("203.0.113.9", "203.0.113.9"), ("127.0.0.1, 203.0.113.9", "203.0.113.9"), ("203.0.113.9, 10.9.0.4", "203.0.113.9"),
    ("2001:db8::5", "2001:db8::5")])
def test_who_asks_is_what_the_nearest_foreign_hop_is(hops: str, asks: str) -> None:
    """What a browser writes there itself stands further out, and counts for nothing. Addresses of RFC 5737 and 3849."""
    app = Application()
    asked(app, Head([("x-forwarded-for", hops), *OVER, ("x-forwarded-host", "shop.example")], method="GET"), Other(), proxies=OURS)
    seen = app.seen[0]
    assert (seen["REMOTE_ADDR"], seen["wsgi.url_scheme"], seen["HTTP_HOST"]) == (asks, "https", "shop.example")


@pytest.mark.parametrize(("peer", "fields"), [
    ("192.168.1.8", [("x-forwarded-for", "203.0.113.9"), *OVER]), ("192.168.1.7", OVER),
    ("192.168.1.7", [("x-forwarded-for", "x"), *OVER]),
    ("192.168.1.7", [("x-forwarded-for", "203.0.113.9")]),
    ("192.168.1.7", [("x-forwarded-for", "203.0.113.9"), ("x-forwarded-proto", "https, http")])],
    ids=["past the proxy", "for nobody", "for no address", "scheme unsaid", "not over https"])
def test_what_a_proxy_did_not_pass_on_over_https_is_refused(peer: str, fields: Fields) -> None:
    with pytest.raises(NotOverProxy):
        OURS.told(peer, fields)
    app = Application()
    assert asked(app, Head(fields, "GET", client=f"{peer}:1"), Other(), proxies=OURS).status == 403 and app.seen == []


def test_named_proxy_that_is_none_is_refused_at_the_start(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["serve", "--data", str(tmp_path), "--behind-proxy", "proxy.lan"])
    assert "is no address or network" in capsys.readouterr().err
    assert main(["serve", "--data", str(tmp_path), "--tls", "--behind-proxy", "10.0.0.1"]) == 1


def test_one_address_waits_for_itself_only() -> None:
    async def play() -> list[str]:
        turns, said, let_go = Turns(each=1, waiting=1), [], asyncio.Event()

        async def go(address: str, name: str, seconds: float | None = None) -> None:
            try:
                async with turns.turn(address, seconds):
                    said.append(name)
                    await let_go.wait()
            except Full:
                said.append(f"{name} full")

        tasks = [asyncio.create_task(go(*one)) for one in (("a", "a1"), ("a", "a2"), ("a", "a3"), ("b", "b1"))]
        await asyncio.sleep(0.01)
        assert said == ["a1", "a3 full", "b1"]
        let_go.set()
        await asyncio.gather(*tasks)
        assert not turns._places and turns._inside == 0  # nothing is left of who has gone
        let_go.clear()
        first, late = asyncio.create_task(go("a", "a4")), asyncio.create_task(go("a", "a5", 0.02))
        await late
        let_go.set()
        await first
        return said

    assert run(play()) == ["a1", "a3 full", "b1", "a2", "a4", "a5 full"]


def test_body_lies_outside_memory_once_it_is_long() -> None:
    from app.door.body import take
    from app.door.limits import IN_MEMORY

    async def pieces() -> AsyncIterator[bytes]:
        for _ in range(3):
            yield bytes(IN_MEMORY)

    async def play() -> tuple[int, bool]:
        with await take(pieces(), 3 * IN_MEMORY, QUICK, keep=True) as body:
            return len(body.read()), isinstance(getattr(body, "_file", None), io.BytesIO)

    assert run(play()) == (3 * IN_MEMORY, False)
