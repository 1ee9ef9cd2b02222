"""From the command line to the running program."""

from __future__ import annotations

import os
import platform
import subprocess
from pathlib import Path

from .environment import RUNTIME_LOCK, TEST_LOCK, Environment
from .system import prepare_system
from .words import COMMANDS, VERSION, command_help, fail, say, top_help

FIRST_WORDS = {"demo": "starting", "serve": "starting", "test": "testing", "check": "checking"}
OF_TESTS = ("test", "check")  # they need what the tests need, and speak only once that is there
HELP = ("-h", "--help")


def main(root: str, arguments: list[str]) -> int:
    """Read the command, prepare what it needs, hand over; an exit code if it does not become the program."""
    command, rest = (arguments[0], arguments[1:]) if arguments else ("", [])
    if command in (*HELP, "help"):
        print(top_help())
        return 0
    if command == "--version":
        print(f"tagstrip {VERSION}")
        return 0
    if command not in COMMANDS:
        said = f"There is no command {command!r}." if command else "Which command?"
        fail(f"{said} Known are {', '.join(COMMANDS)}; see ./tagstrip --help", 2)
    environment = Environment(Path(root))
    asks_help = any(word in HELP for word in rest)
    speaks_itself = command not in OF_TESTS and environment.holds(RUNTIME_LOCK)
    if asks_help and not speaks_itself:
        print(command_help(command))
        return 0
    if command in FIRST_WORDS and not asks_help:
        say(f"Tagstrip: {FIRST_WORDS[command]}")
    _prepare(environment, command)
    return _hand_over(environment, command, rest)


def _prepare(environment: Environment, command: str) -> None:
    lock = TEST_LOCK if command in OF_TESTS else RUNTIME_LOCK
    ready = environment.holds(lock)
    prepare_system(command, need_venv=not ready)
    if not ready:
        environment.ensure(lock)


def _hand_over(environment: Environment, command: str, rest: list[str]) -> int:
    """Become the program, wherever this was called from."""
    paths = [str(environment.root), os.environ.get("PYTHONPATH", "")]
    env = dict(os.environ, PYTHONPATH=os.pathsep.join(filter(None, paths)))
    if platform.system() == "Darwin":  # Homebrew's libraries are not where the loader looks by itself
        env.setdefault("DYLD_FALLBACK_LIBRARY_PATH", "/opt/homebrew/lib:/usr/local/lib:/usr/lib")
    words = ["app.cli", command, *rest]
    if command in OF_TESTS:
        os.chdir(environment.root)
        words = ["pytest", "-n", "2", "--dist", "loadgroup", *rest] if command == "test" else ["tests.long_check", *rest]
    python = str(environment.python)
    line = [python, "-P", "-m", *words]  # -P: a folder `app` where the user stands is not this one
    if os.name != "nt":
        os.execve(python, line, env)  # noqa: S606
    return subprocess.call(line, env=env)  # noqa: S603
