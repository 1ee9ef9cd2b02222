"""Having a PDF made, in a process of its own: what hangs is ended, what lacks a library says how to get it."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path

from app.documents.job import Job
from app.documents.render_child import NO_LIBRARIES, REFUSED
from app.errors import Unavailable
from app.launch.system import PDF_LIBRARIES, advice

AT_ONCE = 2
QUEUE_SECONDS = 20.0
LONGEST_SECONDS = 60.0
REPOSITORY = Path(__file__).resolve().parent.parent.parent
CHILD: tuple[str, ...] = (sys.executable, "-m", "app.documents.render_child")

_places = threading.BoundedSemaphore(AT_ONCE)


class PdfUnavailable(Unavailable):
    """No PDF can be made on this machine at the moment. The same paper can be printed from the browser."""


class PdfBusy(PdfUnavailable):
    """Others are having theirs made; this one may be asked for again."""


def render(job: Job, *, child: Sequence[str] = CHILD, seconds: float = LONGEST_SECONDS,
           queue_seconds: float = QUEUE_SECONDS) -> bytes:
    """The PDF. At most two are made at once; PdfBusy when the wait for a place is too long.

    PdfUnavailable when the libraries are missing, when it takes over `seconds` (the process is ended then), or when it
    breaks.
    """
    if not _places.acquire(timeout=queue_seconds):
        raise PdfBusy("Two papers are being made and more are waiting. Try again in a moment; nothing is lost.")
    try:
        return _ask(job, child, seconds)
    finally:
        _places.release()


def _ask(job: Job, child: Sequence[str], seconds: float) -> bytes:
    quiet = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(list(child), input=job.pack(), capture_output=True, timeout=seconds,  # noqa: S603
                              cwd=REPOSITORY, env=quiet, check=False)
    except subprocess.TimeoutExpired as slow:
        raise PdfUnavailable(f"The PDF was not ready after {seconds:g} s and was given up. Try again, with fewer photos if "
                             "there are many.") from slow
    if done.returncode == NO_LIBRARIES:
        raise PdfUnavailable(f"PDFs are off on this machine until Pango is installed. {advice(list(PDF_LIBRARIES))}")
    if done.returncode or not done.stdout.startswith(b"%PDF-"):
        raise PdfUnavailable(_why(done.returncode, done.stderr))
    return done.stdout


def _why(code: int, said: bytes) -> str:
    if code == REFUSED:
        return f"The paper asked for something it may not have: {said.decode(errors='replace')[:200]}."
    lines = said.decode(errors="replace").strip().splitlines()
    return f"The PDF could not be made (the process that makes it left with {code}: {(lines or ['no words'])[-1][:200]})."
