"""Having a PDF made: the same bytes each time, nothing fetched, and words when it cannot be done."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from app.documents import pdf
from app.documents.job import Job
from app.documents.pdf import PdfBusy, PdfUnavailable, render

PAGE = ('<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><title>A paper</title></head>'
        "<body><h1>A paper</h1><p>{body}</p></body></html>")


def job(body: str = "words", **resources: bytes) -> Job:
    return Job(PAGE.format(body=body), "2026-03-02T09:30:00+00:00", resources)


def test_job_survives_its_way() -> None:
    sent = Job("<p>Ω\n\n</p>", "2026-03-02", {"paper:a": b"\x00\n{", "paper:b": b""})
    assert Job.unpack(sent.pack()) == sent


def test_same_paper_gives_the_same_bytes() -> None:
    assert render(job()) == render(job())


@pytest.mark.parametrize("address", ["http://127.0.0.1:9/a.png", "file:///etc/hostname", "paper:photo/1.jpg",
                                     "data:image/png;base64,AA=="])
def test_nothing_is_fetched_that_was_not_given(address: str) -> None:
    with pytest.raises(PdfUnavailable, match="not given|may not have"):
        render(job(f'<img src="{address}" alt="a picture">'))


def test_one_that_hangs_is_ended(tmp_path: Path) -> None:
    told = tmp_path / "pid"
    sleeper = (sys.executable, "-c", f"import os,time; open({str(told)!r},'w').write(str(os.getpid())); time.sleep(60)")
    with pytest.raises(PdfUnavailable, match="not ready after 2 s"):
        render(job(), child=sleeper, seconds=2)
    with pytest.raises(ProcessLookupError):
        os.kill(int(told.read_text()), 0)


def test_one_that_is_killed_says_so_and_frees_its_place() -> None:
    killed = (sys.executable, "-c", "import os,signal; os.kill(os.getpid(), signal.SIGKILL)")
    for _ in range(pdf.AT_ONCE + 1):
        with pytest.raises(PdfUnavailable, match="left with -9"):
            render(job(), child=killed, queue_seconds=0.5)


def test_third_at_once_waits_and_is_told() -> None:
    quick = (sys.executable, "-c", "import sys; sys.stdin.buffer.read(); sys.stdout.write('%PDF-')")
    for _ in range(pdf.AT_ONCE):
        pdf._places.acquire()
    with pytest.raises(PdfBusy, match="Try again in a moment"):
        render(job(), child=quick, queue_seconds=0.05)
    for _ in range(pdf.AT_ONCE):
        pdf._places.release()
    assert render(job(), child=quick, queue_seconds=0.05) == b"%PDF-"


def test_without_pango_it_says_how_to_get_it(tmp_path: Path) -> None:
    """The system library cannot be opened, as on a machine without it: the child leaves with its own number."""
    (tmp_path / "sitecustomize.py").write_text(
        "import ctypes.util, cffi\n"
        "def refuse(self, name, flags=0):\n"
        "    raise OSError(f'cannot load library {name!r}')\n"
        "cffi.FFI.dlopen = refuse\n")
    hidden = {**os.environ, "PYTHONPATH": str(tmp_path)}
    done = subprocess.run(pdf.CHILD, input=job().pack(), capture_output=True, env=hidden, cwd=pdf.REPOSITORY, check=False)
    assert done.returncode == 3 and b"cannot load library" in done.stderr
    with pytest.raises(PdfUnavailable, match="until Pango is installed"):
        render(job(), child=("env", f"PYTHONPATH={tmp_path}", *pdf.CHILD))
