"""Another machine to start the launcher on."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
REPOSITORY = HERE.parent.parent
DEBIAN = {"ID": "debian"}


def script(path: Path, body: str) -> Path:
    path.write_text("#!/bin/sh\n" + body)
    path.chmod(0o755)
    return path


Ended = subprocess.CompletedProcess[str]


class Machine:
    """A checkout in a folder with a space in its name, on a machine that answers as told."""

    def __init__(self, folder: Path) -> None:
        self.root = folder / "my checkout"
        self.elsewhere = folder / "elsewhere"
        self.bin = folder / "bin"
        self.switches = folder / "switches"
        for made in (self.root / "app", self.elsewhere, self.bin, self.switches):
            made.mkdir(parents=True)
        shutil.copy(REPOSITORY / "tagstrip", self.root)
        shutil.copytree(REPOSITORY / "app/launch", self.root / "app/launch")
        (self.root / "requirements.lock").write_text("flask==1\n    --hash=sha256:aa\n")
        (self.root / "requirements-installer.lock").write_text("uv==1\n    --hash=sha256:bb\n")
        (self.root / "requirements-test.lock").write_text("flask==1\npytest==1\n")
        run = f'exec "{sys.executable}" "{HERE / "fake_python.py"}" "$0" "$@"\n'
        self.facts: dict[str, object] = {
            "system": "Linux", "os_release": DEBIAN, "uid": 1000, "fonts": True, "libraries_missing": [],
            "modules_missing": [], "python": str(script(self.bin / "python3", run)), "version": None,
        }

    def start(self, *arguments: str, env: dict[str, str] | None = None, **facts: object) -> Ended:
        """Start it in another folder and wait for its end."""
        around = self.environment(**facts) | (env or {})
        line = self.line(*arguments)
        return subprocess.run(
            line, env=around, cwd=self.elsewhere, capture_output=True, text=True, timeout=30, check=False
        )

    def line(self, *arguments: str) -> list[str]:
        """The command line of a start."""
        driver = HERE / "other_machine.py"
        return [sys.executable, str(driver), str(self.root / "tagstrip"), *arguments]

    def environment(self, **facts: object) -> dict[str, str]:
        return {
            "PATH": str(self.bin),
            "HOME": str(self.elsewhere),
            "SWITCHES": str(self.switches),
            "MACHINE": json.dumps(self.facts | facts),
        }

    def log(self) -> list[str]:
        path = self.switches / "log"
        return path.read_text().splitlines() if path.exists() else []

    def installs(self) -> list[str]:
        """The locks that were installed, each with what installed it."""
        asked = [line for line in self.log() if " install " in line]
        return [f"{line.split()[1]} {line.rsplit('/', 1)[-1]}" for line in asked]

    def switch(self, name: str, on: bool = True) -> None:
        (self.switches / name).touch() if on else (self.switches / name).unlink()


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)
