"""Run a long program without its noise, but with a sign of life and, when it fails, its own words."""

from __future__ import annotations

import os
import subprocess
import threading
import time
from collections.abc import Callable, Sequence

from .words import say

SIGN_OF_LIFE_SECONDS = 5.0


def run_slowly(
    command: Sequence[str], progress: Callable[[list[str]], str], *, holding: Sequence[int] = ()
) -> tuple[int, list[str]]:
    """Run `command`, saying `progress(lines so far)` every five seconds; its exit code and all its lines.

    A program that is not there counts as exit code 127. `holding` are file descriptors that the program
    keeps open for as long as it runs, even if this one is killed.
    """
    env = dict(os.environ, LC_ALL="C.UTF-8", DEBIAN_FRONTEND="noninteractive")
    lines: list[str] = []
    try:
        child = subprocess.Popen(  # noqa: S603  programs and arguments are ours
            command, env=env, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            text=True, errors="replace", pass_fds=holding,
        )
    except OSError as error:
        return 127, [str(error)]
    reader = threading.Thread(target=lambda: lines.extend(child.stdout or ()), daemon=True)
    started = time.monotonic()
    reader.start()
    try:
        while reader.is_alive():
            reader.join(SIGN_OF_LIFE_SECONDS)
            if reader.is_alive():
                say(f"  {progress(lines)} ({time.monotonic() - started:.0f} s)")
        return child.wait(), lines
    except KeyboardInterrupt:
        child.terminate()
        child.wait()
        raise


def own_words(lines: Sequence[str]) -> None:
    """Show what a failed program said: its error lines, or else its last ones."""
    errors = [line for line in lines if line.lower().startswith(("error", "e:"))]
    for line in (errors or list(lines))[-8:]:
        say("    " + line.rstrip())
