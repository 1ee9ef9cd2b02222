"""The style is held by the tools that define it, set up in pyproject.toml."""

import subprocess
import sys
from pathlib import Path

REPOSITORY = Path(__file__).parent.parent


def run(*words: str) -> subprocess.CompletedProcess[str]:
    """Run a module of this environment over the whole project."""
    line = [sys.executable, "-m", *words]
    return subprocess.run(line, cwd=REPOSITORY, capture_output=True, text=True, check=False)


def test_ruff_has_nothing_to_say() -> None:
    checked = run("ruff", "check", "--output-format", "concise", ".")
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_mypy_strict_has_nothing_to_say() -> None:
    checked = run("mypy", "app")
    assert checked.returncode == 0, checked.stdout + checked.stderr
