"""The launcher's words, its exit codes, and what it needs to be read at all."""

import argparse
import ast
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from app.cli import parser
from tests.launcher.conftest import REPOSITORY, Machine, script

PROGRAM = next(action for action in parser()._actions if isinstance(action, argparse._SubParsersAction))
COMMANDS = ("test", "check", *PROGRAM.choices)


def test_an_unknown_command_is_wrong_usage(machine: Machine) -> None:
    done = machine.start("dmo")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("tagstrip: There is no command 'dmo'. Known are demo, serve,")
    assert len(done.stderr.splitlines()) == 1


def test_no_command_is_wrong_usage(machine: Machine) -> None:
    assert machine.start().returncode == 2


def test_help_needs_no_environment(machine: Machine) -> None:
    top = machine.start("--help")
    assert top.returncode == 0
    for command in COMMANDS:
        assert f"\n  {command} " in top.stdout
        page = machine.start(command, "--help")
        assert page.returncode == 0
        assert f"Examples:\n  ./tagstrip {command}" in page.stdout
    assert top.stdout.split("Examples")[0].count("\n  ") == len(COMMANDS)
    assert machine.log() == []


def test_once_installed_the_program_speaks_for_itself(machine: Machine) -> None:
    machine.start("verify")
    assert json.loads(machine.start("serve", "--help").stdout)["arguments"][3:] == ["serve", "--help"]


def test_an_old_python_says_what_is_needed(machine: Machine) -> None:
    done = machine.start("demo", version=[3, 9, 2, "final", 0])
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "tagstrip: needs Python 3.11 or newer; this is 3.9 and no newer one is on the PATH. "
        "Install Python 3.11, 3.12 or 3.13 and start this again.\n"
    )


def test_an_old_python_starts_a_newer_one_that_works(machine: Machine) -> None:
    script(machine.bin / "python3.13", "exit 127\n")
    script(machine.bin / "python3.12", '[ "$1" = -c ] && exit 0\necho "$@"\n')
    done = machine.start("demo", "--port", "9000", version=[3, 9, 2, "final", 0])
    assert done.stdout == f"{machine.root / 'tagstrip'} demo --port 9000\n"


def test_the_starting_file_keeps_to_what_every_python_3_reads() -> None:
    tree = ast.parse((REPOSITORY / "tagstrip").read_text(), feature_version=(3, 0))
    newer = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.Match, ast.AsyncFunctionDef)
    assert [node for node in ast.walk(tree) if isinstance(node, newer)] == []


def test_the_starting_file_and_its_helpers_need_no_package() -> None:
    for path in (REPOSITORY / "tagstrip", *(REPOSITORY / "app/launch").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            names: list[str] = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                names = [node.module or ""]
            assert {name.split(".")[0] for name in names} <= sys.stdlib_module_names | {"launch"}, path


def test_the_check_script_runs_the_tests_from_anywhere(machine: Machine, tmp_path: Path) -> None:
    (machine.root / ".ci").mkdir()
    shutil.copy(REPOSITORY / ".ci/run", machine.root / ".ci/run")
    script(machine.root / "tagstrip", 'echo "$PWD: $*"\n')
    ran = subprocess.run(
        [str(machine.root / ".ci/run")], cwd=tmp_path, capture_output=True, text=True, check=True,
        env={"PATH": os.defpath},
    )
    assert ran.stdout == f"{machine.root}: test\n"
