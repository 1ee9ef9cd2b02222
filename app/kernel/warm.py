"""Processes of ours that stay warm: work on strangers' bytes or with large libraries, done where it can be ended.

Whoever asks waits for a place and talks to the process in it. One is started with the first work, replaced after it broke or
overran, and renewed after so much work that what a library may leak stays bounded. It ends with whoever started it (see
`app.kernel.warm_child`, the other side).
"""

from __future__ import annotations

import base64
import contextlib
import json
import os
import queue
import subprocess
import sys
import tempfile
import threading
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, BinaryIO, TypeVar, cast

LEAVING_SECONDS = 5.0
REPOSITORY = Path(__file__).resolve().parent.parent.parent
Answer = TypeVar("Answer")
Talk = Callable[[BinaryIO, BinaryIO], Answer]
# The child's program from text: its files may be another version's by the time that a child is started.
FROM_TEXT = """
import base64, importlib.abc, importlib.util, json, sys, zlib
TEXTS = json.loads(zlib.decompress(base64.b85decode({packed!r})))
class Kept(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    def find_spec(self, name, path=None, target=None):
        if name in TEXTS:
            return importlib.util.spec_from_loader(name, self, is_package=any(one.startswith(name + ".") for one in TEXTS))
    def exec_module(self, module):
        exec(compile(TEXTS[module.__name__], "<" + module.__name__ + ", as it was at the start>", "exec"), module.__dict__)
sys.meta_path.insert(0, Kept())
from {main} import main
sys.exit(main())
"""


class NoTurn(Exception):
    """Others were asking for too long."""


class NotStarted(Exception):
    """The program cannot be started; says why."""


class Broke(Exception):
    """No answer: what the process left with (negative: a signal), the last it said, whether it was ended for taking too long."""

    def __init__(self, code: int, words: str, *, late: bool) -> None:
        self.code, self.words, self.late = code, words, late
        super().__init__(f"left with {code}: {words}")


class Child:
    """One process that answers until it is ended, or until it breaks."""

    def __init__(self, command: Sequence[str], settings: Mapping[str, str]) -> None:
        self.asked = 0
        self.overran = threading.Event()
        self._said: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed in end()
        try:
            self.process = subprocess.Popen(list(command), stdin=subprocess.PIPE, stdout=subprocess.PIPE,  # noqa: S603
                                            stderr=self._said, cwd=REPOSITORY,
                                            env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1", **settings})
        except OSError:
            self._said.close()
            raise

    def ask(self, talk: Talk[Answer], seconds: float) -> Answer:
        """What the talk over its two pipes gives. EOFError, OSError or ValueError without an answer in time: end it then."""
        timer = threading.Timer(seconds, self._end_late)
        timer.start()
        try:
            return talk(cast(BinaryIO, self.process.stdin), cast(BinaryIO, self.process.stdout))
        finally:
            timer.cancel()
            timer.join()
            self.asked += 1

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


@dataclass(eq=False)
class _Place:
    """Room for one process."""

    child: Child | None = None

    def end(self) -> tuple[int, str]:
        child, self.child = self.child, None
        return child.end() if child else (0, "")


class Warm:
    """So many places for processes that are started by `command`, each asked `each` times before it is renewed.

    `queue_seconds` is how long one waits for a place; `settings` are added to the environment.
    """

    def __init__(self, command: Sequence[str], *, each: int, queue_seconds: float, at_once: int = 1,
                 settings: Mapping[str, str] | None = None) -> None:
        self._command, self._each, self._queue_seconds, self._settings = command, each, queue_seconds, settings or {}
        self._every = [_Place() for _ in range(at_once)]
        # The one that worked last is taken first: while work comes bit by bit, one process is enough.
        self._free: queue.LifoQueue[_Place] = queue.LifoQueue()
        for place in self._every:
            self._free.put(place)

    @property
    def pids(self) -> tuple[int, ...]:
        """The processes that there are."""
        return tuple(child.process.pid for place in self._every if (child := place.child) is not None)

    def start_from(self, command: Sequence[str]) -> None:
        """The next process is started so."""
        self._command = command

    def ask(self, talk: Talk[Answer], seconds: float) -> Answer:
        """What a process answers within `seconds`. NoTurn, NotStarted, or Broke: the next is answered by another process then.

        Whatever else the talk raises comes out of here, and ends the process: an answer that nobody waits for any more must not
        be taken for the next.
        """
        try:
            place = self._free.get(timeout=self._queue_seconds)
        except queue.Empty:
            raise NoTurn from None
        try:
            answer = self._answered(place, self._ready(place), talk, seconds)
            if place.child is not None and place.child.asked >= self._each:
                place.end()
                with contextlib.suppress(NotStarted):  # this is answered; the next says so if it is still so then
                    self._ready(place)  # loads its libraries before more work comes
            return answer
        finally:
            self._free.put(place)

    def close(self) -> None:
        """End every process. The next work starts another."""
        places = [self._free.get() for _ in self._every]
        for place in places:
            place.end()
            self._free.put(place)

    def _answered(self, place: _Place, child: Child, talk: Talk[Answer], seconds: float) -> Answer:
        try:
            return child.ask(talk, seconds)
        except (EOFError, OSError, ValueError) as wrong:
            code, words = place.end()
            raise Broke(code, words, late=child.overran.is_set()) from wrong
        except BaseException:
            child.process.kill()
            place.end()
            raise

    def _ready(self, place: _Place) -> Child:
        if place.child is not None and not place.child.works:
            place.end()
        if place.child is None:
            try:
                place.child = Child(self._command, self._settings)
            except OSError as wrong:
                raise NotStarted(wrong.strerror or str(wrong)) from wrong
        return place.child


def from_text(main: str, *others: str) -> tuple[str, ...]:
    """A command that runs `main()` of the module `main` as it is now, with `others`, whatever their files become meanwhile.

    `others` are all of ours that it imports; the packages that they lie in come along.
    """
    parts = [name.split(".") for name in (main, *others)]
    names = {".".join(each[:end]) for each in parts for end in range(1, len(each) + 1)}
    texts = {name: _file(name).read_text(encoding="utf-8") for name in sorted(names)}
    packed = base64.b85encode(zlib.compress(json.dumps(texts).encode())).decode()  # a command line has a length
    return (sys.executable, "-c", FROM_TEXT.format(packed=packed, main=main))


def _file(name: str) -> Path:
    path = REPOSITORY.joinpath(*name.split("."))
    return path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
