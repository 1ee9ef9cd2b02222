"""Having a PDF made: the same bytes each time, nothing fetched, words when it cannot be done, and a process that heals."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from app.documents import pdf
from app.documents.job import Job
from app.documents.pdf import PdfBusy, PdfUnavailable, Renderer, render
from app.kernel.warm import REPOSITORY
from tests.documents.children import ODD, WITHOUT_PANGO

PAGE = ('<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><title>A paper</title></head>'
        "<body><h1>A paper</h1><p>{body}</p></body></html>")
Make = Callable[..., Renderer]


def job(body: str = "words", **resources: bytes) -> Job:
    return Job(PAGE.format(body=body), "2026-03-02T09:30:00+00:00", resources)


def maker(made: bytes) -> int:
    """The process that an odd child's paper names."""
    return int(made.removeprefix(b"%PDF-"))


def is_gone(pid: int) -> bool:
    """No such process, or one that only waits to be counted."""
    told = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True, check=False).stdout.strip()
    return not told or told.startswith("Z")


def goes(pid: int, within: float = 10.0) -> bool:
    until = time.monotonic() + within
    while not is_gone(pid) and time.monotonic() < until:
        time.sleep(0.02)
    return is_gone(pid)


@pytest.fixture
def odd() -> Iterator[Make]:
    """Renderers whose process does as the page says."""
    made: list[Renderer] = []

    def make(**given: float) -> Renderer:
        made.append(Renderer(ODD, **given))  # type: ignore[arg-type]
        return made[-1]

    yield make
    for one in made:
        one.close()


def test_job_survives_its_way() -> None:
    sent = Job("<p>Ω\n\n</p>", "2026-03-02", {"paper:a": b"\x00\n{", "paper:b": b""})
    assert Job.unpack(sent.pack()) == sent


def test_same_paper_gives_the_same_bytes_whatever_was_made_before() -> None:
    first = render(job())
    render(job("<table><tr><th>other</th></tr></table>" * 20))
    assert render(job()) == first
    pdf.shared.close()
    assert render(job()) == first


@pytest.mark.parametrize("address", ["http://127.0.0.1:9/a.png", "file:///etc/hostname", "paper:photo/1.jpg",
                                     "data:image/png;base64,AA=="])
def test_nothing_is_fetched_that_was_not_given(address: str) -> None:
    render(job())
    before = pdf.shared.pid
    with pytest.raises(PdfUnavailable, match="not given|may not have"):
        render(job(f'<img src="{address}" alt="a picture">'))
    assert pdf.shared.pid == before


def test_papers_are_made_by_one_process_that_is_started_with_the_first(odd: Make) -> None:
    renderer = odd()
    assert renderer.pid is None
    assert {maker(renderer.render(job())) for _ in range(4)} == {renderer.pid}


def test_process_is_renewed_after_so_many_papers(odd: Make) -> None:
    renderer = odd(papers=3)
    made = [maker(renderer.render(job())) for _ in range(7)]
    assert [made.index(one) for one in made] == [0, 0, 0, 3, 3, 3, 6]
    assert goes(made[0]) and goes(made[3]) and not is_gone(made[6])


@pytest.mark.parametrize(("body", "words"), [
    ("odd:crash", "left with -9: no words"), ("odd:leave", "left with 7: the last of which counts"),
    ("odd:break", "says LookupError: no such thing")])
def test_after_a_crash_the_next_paper_is_made_by_another_process(odd: Make, body: str, words: str) -> None:
    renderer = odd()
    before = maker(renderer.render(job()))
    with pytest.raises(PdfUnavailable, match=words):
        renderer.render(job(body))
    after = maker(renderer.render(job()))
    assert after != before and goes(before)


@pytest.mark.parametrize("body", ["odd:hang", "odd:spin"])
def test_one_that_hangs_is_ended_and_the_next_paper_is_made(odd: Make, body: str) -> None:
    renderer = odd(seconds=2)
    before = maker(renderer.render(job()))
    with pytest.raises(PdfUnavailable, match="not ready after 2 s"):
        renderer.render(job(body))
    assert goes(before)
    assert maker(renderer.render(job())) != before


def test_process_that_died_between_two_papers_costs_no_paper(odd: Make) -> None:
    renderer = odd()
    before = maker(renderer.render(job()))
    os.kill(before, signal.SIGKILL)
    assert goes(before)
    assert maker(renderer.render(job())) != before


def test_what_a_library_prints_does_not_get_into_a_paper(odd: Make) -> None:
    renderer = odd()
    assert maker(renderer.render(job("odd:chatter"))) == maker(renderer.render(job("odd:chatter"))) == renderer.pid


def test_papers_that_come_at_once_are_made_in_turn_each_its_own(odd: Make) -> None:
    renderer = odd()
    made: list[bytes] = []
    threads = [threading.Thread(target=lambda: made.append(renderer.render(job()))) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 12 and {maker(one) for one in made} == {renderer.pid}


def test_one_whose_turn_does_not_come_is_told_and_costs_nobody_anything(odd: Make) -> None:
    renderer = odd(seconds=3, queue_seconds=0.05)
    first = threading.Thread(target=lambda: pytest.raises(PdfUnavailable, renderer.render, job("odd:hang")))
    first.start()
    until = time.monotonic() + 10
    while renderer.pid is None and time.monotonic() < until:
        time.sleep(0.01)
    with pytest.raises(PdfBusy, match="Try again in a moment"):
        renderer.render(job())
    first.join()
    assert renderer.render(job()).startswith(b"%PDF-")


def test_program_that_cannot_be_started_is_named(tmp_path: Path) -> None:
    renderer = Renderer((str(tmp_path / "not there"),))
    for _ in range(2):
        with pytest.raises(PdfUnavailable, match="cannot be started: No such file"):
            renderer.render(job())


PARENT = """
import sys, threading
from app.documents.job import Job
from app.documents.pdf import Renderer
renderer = Renderer({child!r}, seconds=2)
made = renderer.render(Job("one", ""))
threading.Thread(target=lambda: renderer.render(Job({body!r}, "")) if {body!r} else None, daemon=True).start()
print(int(made[5:]), flush=True)
sys.stdin.read()
"""


@pytest.mark.parametrize("body", ["", "odd:hang", "odd:spin"])
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM])
def test_when_the_server_is_killed_no_process_lingers(body: str, how: signal.Signals) -> None:
    """Idle, waiting, or stuck in a library that lets nothing else run: that one is left to the system's alarm."""
    parent = subprocess.Popen([sys.executable, "-c", PARENT.format(child=ODD, body=body)], cwd=REPOSITORY,
                              stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    with parent:
        assert parent.stdout is not None
        child = int(parent.stdout.readline())
        time.sleep(0.3 if body else 0.0)  # the second paper is on its way
        assert not is_gone(child)
        parent.send_signal(how)
    assert goes(child)


def test_without_pango_it_says_how_to_get_it_and_asks_again_next_time() -> None:
    """The system library cannot be opened, as on a machine without it."""
    renderer = Renderer(WITHOUT_PANGO)
    for _ in range(2):
        with pytest.raises(PdfUnavailable, match="until Pango is installed"):
            renderer.render(job())
        assert renderer.pid is None
