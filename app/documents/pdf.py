"""Having a PDF made, in a process of its own that stays warm: what hangs is ended, what lacks a library says how to get it.

One paper at a time; the others wait for their turn. No request thread renders: it waits.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import BinaryIO

from app.documents.job import Job, Outcome, answered, ask
from app.errors import Unavailable
from app.kernel.warm import Broke, NotStarted, NoTurn, Warm, from_text
from app.launch.system import PDF_LIBRARIES, advice

QUEUE_SECONDS = 20.0
LONGEST_SECONDS = 60.0
PAPERS_EACH = 100  # measured: 75 MB after the first, 115 MB after a hundred of the demo's, 140 MB after two hundred
MAIN = "app.documents.render_child"
PROGRAM = ("app.documents.job", "app.documents.tags", "app.kernel.warm_child")  # all of ours that it imports


class PdfUnavailable(Unavailable):
    """No PDF can be made on this machine at the moment. The same paper can be printed from the browser."""


class PdfBusy(PdfUnavailable):
    """Others are having theirs made; this one may be asked for again."""


class Renderer:
    """The place where papers queue for the one process. `papers` is how many each process makes before it is renewed."""

    def __init__(self, command: Sequence[str] = (sys.executable, "-m", MAIN), *, seconds: float = LONGEST_SECONDS,
                 queue_seconds: float = QUEUE_SECONDS, papers: int = PAPERS_EACH) -> None:
        self.warm, self._seconds = Warm(command, each=papers, queue_seconds=queue_seconds), seconds

    @property
    def pid(self) -> int | None:
        """The process that would make the next paper, if it has been started."""
        return next(iter(self.warm.pids), None)

    def render(self, job: Job) -> bytes:
        """The PDF. PdfBusy when the wait for its turn is too long.

        PdfUnavailable when the libraries are missing, when it takes too long (the process is ended then), or when it breaks.
        """
        def talk(to: BinaryIO, at: BinaryIO) -> tuple[Outcome, bytes]:
            ask(to, job, self._seconds)
            outcome, body = answered(at)
            if outcome is Outcome.NO_LIBRARIES:  # it leaves after this, and after the next
                raise PdfUnavailable(f"PDFs are off on this machine until Pango is installed. {advice(list(PDF_LIBRARIES))}")
            if outcome is Outcome.BROKE:
                raise PdfUnavailable(_broke(f"says {_words(body)}"))
            return outcome, body

        try:
            outcome, body = self.warm.ask(talk, self._seconds)
        except NoTurn:
            raise PdfBusy("Other papers are being made and this one's turn did not come. Try again in a moment; nothing is lost.") \
                from None
        except NotStarted as wrong:
            raise PdfUnavailable(_broke(f"cannot be started: {wrong}")) from wrong
        except Broke as wrong:
            raise PdfUnavailable(f"The PDF was not ready after {self._seconds:g} s and was given up. Try again, with fewer photos "
                                 "if there are many." if wrong.late else _broke(str(wrong))) from wrong
        if outcome is Outcome.REFUSED:
            raise PdfUnavailable(f"The paper asked for something it may not have: {_words(body)}.")
        return body

    def close(self) -> None:
        """End the process. The next paper starts another."""
        self.warm.close()


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
    shared.warm.start_from(from_text(MAIN, *PROGRAM))
