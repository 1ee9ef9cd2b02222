"""Getting the packages of a lock into an environment: by uv, which is quicker, or by pip. Either checks every hash."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Sequence
from pathlib import Path

from .run import own_words, run_slowly
from .words import fail, say

INSTALLER_LOCK = "requirements-installer.lock"
QUIET = ("--no-input", "--progress-bar", "off", "--disable-pip-version-check")
# Where pip was told to fetch from, and through what. uv does not read pip's settings: it would go elsewhere.
PLACES = ("index-url", "no-index", "proxy")
NOT_COMPILED = r"[/\\](tests?|testing)[/\\]"  # the packages' own tests: nobody loads them


def install(python: Path, root: Path, lock: str, held: int) -> None:
    """Install the lock, or leave with the installer's own words. `held` stays open in an installer that outlives this process."""
    say(f"Installing the packages of {lock} (again only when that list changes)")
    holding = () if os.name == "nt" else (held,)
    if _uses_usual_place(python) and _get_uv(python, root, holding) and _by_uv(python, root, lock, holding):
        return
    code, lines = _by_pip(python, root, lock, holding)
    if code:
        own_words(lines)
        fail("pip could not install the packages; see its words above. Is this machine online?")


def compile_once(python: Path, folders: Sequence[Path]) -> None:
    """Compile what lies in these folders, on every processor, so that no start has to.

    What cannot be compiled is no failure: Python says so where it is loaded, if it ever is.
    """
    command = [str(python), "-m", "compileall", "-q", "-j", "0", "-x", NOT_COMPILED, *map(str, folders)]
    run_slowly(command, lambda _: "compiling them, so that no start has to")


def _uses_usual_place(python: Path) -> bool:
    command = [str(python), "-m", "pip", "config", "list"]
    told = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False).stdout  # noqa: S603
    names = [line.partition("=")[0].rpartition(".")[2] for line in told.splitlines()]
    if any(name in PLACES for name in names):
        say("  pip has been told where to fetch from, so pip does it")
        return False
    return True


def _get_uv(python: Path, root: Path, holding: Sequence[int]) -> bool:
    code, _ = _by_pip(python, root, INSTALLER_LOCK, holding)
    if code:
        say("  uv, which is quicker, cannot be had here; pip does it")
    return code == 0


def _by_uv(python: Path, root: Path, lock: str, holding: Sequence[int]) -> bool:
    uv = [str(python), "-m", "uv", "--directory", str(root), "--no-progress", "pip", "install", "--python", str(python)]
    code, lines = run_slowly([*uv, "--require-hashes", "-r", str(root / lock)], lambda _: "fetching and unpacking", holding=holding)
    if code:
        own_words(lines)
        say("  uv could not install them; pip tries")
    return code == 0


def _by_pip(python: Path, root: Path, lock: str, holding: Sequence[int]) -> tuple[int, list[str]]:
    path = root / lock
    total = sum("==" in line and line[0] not in " #" for line in path.read_text().splitlines())

    def progress(lines: list[str]) -> str:
        if any(line.startswith("Installing collected") for line in lines):
            return "unpacking"
        return f"fetched {sum(line.startswith('Collecting') for line in lines)} of at most {total}"

    pip = [str(python), "-m", "pip", "install", "--no-compile", "--require-hashes", *QUIET, "-r", str(path)]
    # An installer that outlives a killed launcher keeps the lock, so that the next start waits for its end.
    return run_slowly(pip, progress, holding=holding)
