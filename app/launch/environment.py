"""The program's own `.venv/`: made once, renewed when a lock file changes, healed after a broken run."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

from .installer import compile_once, install
from .run import own_words, run_slowly
from .system import advice
from .words import fail, say

RUNTIME_LOCK, TEST_LOCK = "requirements.lock", "requirements-test.lock"
PACKAGES = "packages "  # begins the stamp's line of what was installed; stamps of earlier versions have none
IS_USABLE = "import sys, pip; sys.exit(sys.version_info < (3, 11))"


def _lock_or_wait(descriptor: int) -> None:
    """Let one start at a time install. (Windows has no such lock: do not start twice at once there.)"""
    if os.name == "nt":
        return
    import fcntl

    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        say("Another start is installing; waiting for it")
        fcntl.flock(descriptor, fcntl.LOCK_EX)


class Environment:
    """`.venv/` beside the launcher, and the two small files in it that tell what was finished."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.folder = root / ".venv"
        self.python = self.folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        self.stamp = self.folder / "tagstrip-installed"  # written last: which locks are in, for which Python
        self.mark = self.folder / "tagstrip-installing"  # written first: a run that never ended leaves it
        self._runs: bool | None = None  # asked once a start

    def holds(self, lock: str) -> bool:
        """Is just what this lock asks for in place, under the Python it was made with?"""
        if self.mark.exists() or not self.python.exists() or not self.stamp.exists():
            return False
        lines = self.stamp.read_text().splitlines()
        whole = not any(line.startswith(PACKAGES) for line in lines) or self._packages_line() in lines
        return self._line(lock) in lines and self._python_line() in lines and whole and self.runs()

    def runs(self) -> bool:
        """Does its Python start at all? One of another processor, or without its library, is there and does not."""
        if self._runs is None:
            try:
                self._runs = subprocess.run([str(self.python), "-S", "-c", ""], capture_output=True,  # noqa: S603
                                            check=False).returncode == 0
            except OSError:
                self._runs = False
        return self._runs

    def ensure(self, lock: str) -> None:
        """Install the lock unless it is in. A second start at the same time waits for the first."""
        with (self.root / lock).open("rb") as held:
            _lock_or_wait(held.fileno())
            if not self.holds(lock):
                self._make(lock, held.fileno())

    def _line(self, lock: str) -> str:
        return f"{lock} {hashlib.sha256((self.root / lock).read_bytes()).hexdigest()}"

    def _python_line(self) -> str:
        return f"python {os.path.realpath(self.python)}"

    def _packages_line(self) -> str:
        names = sorted(one.name for folder in self._packages() for one in folder.glob("*.dist-info"))
        return f"{PACKAGES}{len(names)} {hashlib.sha256(' '.join(names).encode()).hexdigest()}"

    def _make(self, lock: str, held: int) -> None:
        started = time.monotonic()
        usable = not self.mark.exists() and self._works()
        if (self.folder.exists() or self.folder.is_symlink()) and not self.folder.is_dir():
            fail(f"{self.folder} is no folder, and Tagstrip's own Python environment belongs there. Remove it and start again.")
        self.folder.mkdir(exist_ok=True)
        self.mark.touch()
        if not usable:
            self._start_afresh()
        install(self.python, self.root, lock, held)
        compile_once(self.python, [*self._packages(), *(self.root / name for name in ("app", "demo_data", "migrations"))])
        # The test list holds every package of the other, at the same versions.
        locks = (RUNTIME_LOCK, TEST_LOCK) if lock == TEST_LOCK else (lock,)
        self.stamp.write_text("\n".join([*map(self._line, locks), self._python_line(), self._packages_line()]) + "\n")
        self.mark.unlink()
        say(f"  ready after {time.monotonic() - started:.0f} s")

    def _packages(self) -> list[Path]:
        return [*self.folder.glob("lib/python*/site-packages"), *self.folder.glob("Lib/site-packages")]

    def _works(self) -> bool:
        if not self.python.exists():
            return False
        question = [str(self.python), "-c", IS_USABLE]
        try:
            return subprocess.run(question, capture_output=True, check=False).returncode == 0  # noqa: S603
        except OSError:
            return False

    def _start_afresh(self) -> None:
        say("Making Tagstrip's own Python environment in .venv")
        for entry in self.folder.iterdir():
            if entry.is_dir() and not entry.is_symlink():
                shutil.rmtree(entry)
            elif entry != self.mark:  # stays until the work is whole
                entry.unlink()
        python = getattr(sys, "_base_executable", None) or sys.executable
        code, lines = run_slowly([python, "-m", "venv", str(self.folder)], lambda _: "still making it")
        if code:
            own_words(lines)
            fail(f"Python could not make .venv; see its own words above. {advice(['venv'])}")
