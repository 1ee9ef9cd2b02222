"""Having a PDF made, in a process of its own that stays warm: what hangs is ended, what lacks a library says how to get it.

One paper at a time; the others wait for their turn. The process is started at the first paper, replaced after anything that is
not a paper or a plain refusal, and renewed after some papers, so that what a library may leak stays bounded. No request thread
renders: it waits.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import IO, BinaryIO, cast

from app.documents.job import Job, Outcome, answered, ask
from app.errors import Unavailable
from app.launch.system import PDF_LIBRARIES, advice

QUEUE_SECONDS = 20.0
LONGEST_SECONDS = 60.0
PAPERS_EACH = 100  # measured: 75 MB after the first, 115 MB after a hundred of the demo's, 140 MB after two hundred
LEAVING_SECONDS = 5.0
REPOSITORY = Path(__file__).resolve().parent.parent.parent
CHILD: tuple[str, ...] = (sys.executable, "-m", "app.documents.render_child")
PROGRAM = {"app": "app/__init__.py", "app.documents": "app/documents/__init__.py", "app.documents.job": "app/documents/job.py",
           "app.documents.tags": "app/documents/tags.py", "app.documents.render_child": "app/documents/render_child.py"}
# The child's program from text: its files may be another version's by the time that a child is started.
FROM_TEXT = """
import importlib.abc, importlib.util, sys
TEXTS = {texts!r}
class Kept(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    def find_spec(self, name, path=None, target=None):
        if name in TEXTS:
            return importlib.util.spec_from_loader(name, self, is_package=name in ("app", "app.documents"))
    def exec_module(self, module):
        exec(compile(TEXTS[module.__name__], "<" + module.__name__ + ", as it was at the start>", "exec"), module.__dict__)
sys.meta_path.insert(0, Kept())
from app.documents.render_child import main
sys.exit(main())
"""


class PdfUnavailable(Unavailable):
    """No PDF can be made on this machine at the moment. The same paper can be printed from the browser."""


class PdfBusy(PdfUnavailable):
    """Others are having theirs made; this one may be asked for again."""


class Child:
    """One process that makes papers until it is ended, or until it breaks."""

    def __init__(self, command: Sequence[str]) -> None:
        self.made = 0
        self.overran = threading.Event()
        self._said: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed in end()
        quiet = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
        try:
            self.process = subprocess.Popen(list(command), stdin=subprocess.PIPE, stdout=subprocess.PIPE,  # noqa: S603
                                            stderr=self._said, cwd=REPOSITORY, env=quiet)
        except OSError:
            self._said.close()
            raise

    def make(self, job: Job, seconds: float) -> tuple[Outcome, bytes]:
        """What it answers. EOFError, OSError or ValueError when it does not, or not in time: it has to be ended then."""
        timer = threading.Timer(seconds, self._end_late)
        timer.start()
        try:
            ask(cast(BinaryIO, self.process.stdin), job, seconds)
            outcome, body = answered(cast(BinaryIO, self.process.stdout))
        finally:
            timer.cancel()
            timer.join()
        self.made += 1
        return outcome, body

    def _end_late(self) -> None:
        self.overran.set()
        self.process.kill()

    @property
    def works(self) -> bool:
        return self.process.poll() is None and not self.overran.is_set()

    def end(self) -> tuple[int, str]:
        """See that it is gone; what it left with, and the last it said."""
        for pipe in (self.process.stdin, self.process.stdout):
            with contextlib.suppress(OSError):  # what was still to be written is of no use to anybody
                cast(BinaryIO, pipe).close()
        try:
            self.process.wait(LEAVING_SECONDS)  # a closed stdin tells it to leave
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        with self._said as said:
            said.seek(0)
            lines = said.read().decode(errors="replace").strip().splitlines()
        return self.process.returncode, (lines or ["no words"])[-1][:200]


class Renderer:
    """The place where papers queue for the one process. `papers` is how many each process makes before it is renewed."""

    def __init__(self, command: Sequence[str] = CHILD, *, seconds: float = LONGEST_SECONDS,
                 queue_seconds: float = QUEUE_SECONDS, papers: int = PAPERS_EACH) -> None:
        self._command, self._seconds, self._queue_seconds, self._papers = command, seconds, queue_seconds, papers
        self._turn = threading.Lock()
        self._child: Child | None = None

    def start_from(self, command: Sequence[str]) -> None:
        """The next process is started so."""
        self._command = command

    @property
    def pid(self) -> int | None:
        """The process that would make the next paper, if it has been started."""
        return self._child.process.pid if self._child else None

    def render(self, job: Job) -> bytes:
        """The PDF. PdfBusy when the wait for its turn is too long.

        PdfUnavailable when the libraries are missing, when it takes too long (the process is ended then), or when it breaks.
        """
        if not self._turn.acquire(timeout=self._queue_seconds):
            raise PdfBusy("Other papers are being made and this one's turn did not come. Try again in a moment; nothing is lost.")
        try:
            return self._made(self._ready(), job)
        finally:
            self._turn.release()

    def close(self) -> None:
        """End the process. The next paper starts another."""
        with self._turn:
            self._end()

    def _made(self, child: Child, job: Job) -> bytes:
        try:
            outcome, body = child.make(job, self._seconds)
        except (EOFError, OSError, ValueError) as wrong:
            code, words = self._end()
            if child.overran.is_set():
                raise PdfUnavailable(f"The PDF was not ready after {self._seconds:g} s and was given up. Try again, with fewer "
                                     "photos if there are many.") from wrong
            raise PdfUnavailable(_broke(f"left with {code}: {words}")) from wrong
        except BaseException:  # an answer that nobody waits for any more must not be taken for the next paper
            child.process.kill()
            self._end()
            raise
        if outcome is Outcome.REFUSED:
            raise PdfUnavailable(f"The paper asked for something it may not have: {_words(body)}.")
        if outcome is not Outcome.MADE:
            self._end()
            raise PdfUnavailable(_broke(f"says {_words(body)}") if outcome is Outcome.BROKE else
                                 f"PDFs are off on this machine until Pango is installed. {advice(list(PDF_LIBRARIES))}")
        if child.made >= self._papers:
            self._end()
            with contextlib.suppress(PdfUnavailable):  # this paper is made; the next says so if it is still so then
                self._ready()  # loads its libraries before the next paper comes
        return body

    def _ready(self) -> Child:
        if self._child is not None and not self._child.works:
            self._end()
        if self._child is None:
            try:
                self._child = Child(self._command)
            except OSError as wrong:
                raise PdfUnavailable(_broke(f"cannot be started: {wrong.strerror or wrong}")) from wrong
        return self._child

    def _end(self) -> tuple[int, str]:
        child, self._child = self._child, None
        return child.end() if child else (0, "")


def _broke(why: str) -> str:
    return f"The PDF could not be made (the process that makes it {why})."


def _words(body: bytes) -> str:
    return body.decode(errors="replace")[:200]


shared = Renderer()  # this process's one; when this process is gone, so is the one that it started


def render(job: Job) -> bytes:
    """The PDF, by this process's one renderer. Errors as Renderer.render."""
    return shared.render(job)


def keep_program() -> None:
    """Read the child's program now, and start every later child from that."""
    texts = {name: (REPOSITORY / path).read_text(encoding="utf-8") for name, path in PROGRAM.items()}
    shared.start_from((sys.executable, "-c", FROM_TEXT.format(texts=texts)))
