"""The environment that the launcher makes. Nothing is fetched: Python and pip are small stand-ins."""

import json
import shutil
import subprocess

import pytest

from tests.launcher.conftest import Machine

BY_UV = ["pip requirements-installer.lock", "uv requirements.lock"]


def test_a_first_start_installs_with_hashes_and_hands_over(machine: Machine) -> None:
    done = machine.start("verify", "--data", "a b")
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    assert said["arguments"] == ["-P", "-m", "app.cli", "verify", "--data", "a b"]
    assert said["cwd"] == str(machine.elsewhere)
    assert said["PYTHONPATH"] == str(machine.root)
    assert machine.installs() == BY_UV
    assert all("--require-hashes" in line for line in machine.log() if " install " in line)


def test_everything_is_compiled_once_it_is_there(machine: Machine) -> None:
    """Of the program as of its packages; what cannot be compiled stops nobody."""
    assert machine.start("verify").returncode == 0
    *_, compiled, handed_over = machine.log()
    assert compiled.startswith("-m compileall ") and handed_over.startswith("-P")
    for folder in (".venv/lib/python3.11/site-packages", "app", "demo_data", "migrations"):
        assert f" {machine.root / folder}" in compiled


def test_where_uv_cannot_be_had_pip_installs(machine: Machine) -> None:
    machine.switch("no uv")
    done = machine.start("verify")
    assert (done.returncode, machine.installs()) == (0, ["pip requirements-installer.lock", "pip requirements.lock"])
    assert "uv, which is quicker, cannot be had here; pip does it" in done.stderr and "ERROR" not in done.stderr


def test_where_uv_fails_its_words_are_shown_and_pip_installs(machine: Machine) -> None:
    machine.switch("uv breaks")
    done = machine.start("verify")
    assert (done.returncode, machine.installs()) == (0, [*BY_UV, "pip requirements.lock"])
    words = done.stderr.splitlines()
    assert words.index("    error: Failed to fetch: `flask`") + 1 == words.index("  uv could not install them; pip tries")


@pytest.mark.parametrize("setting", ["global.index-url='https://example.org/simple'", ":env:.no-index='1'",
                                     "user.proxy='proxy.example:3128'"])
def test_what_pip_was_told_about_where_to_fetch_is_kept_to(machine: Machine, setting: str) -> None:
    (machine.switches / "pip's settings").write_text(setting + "\nglobal.timeout='60'\n")
    done = machine.start("verify")
    assert (done.returncode, machine.installs()) == (0, ["pip requirements.lock"])
    assert "pip has been told where to fetch from" in done.stderr and "example" not in done.stderr


def test_the_second_start_installs_nothing(machine: Machine) -> None:
    machine.start("verify")
    before = machine.log()
    assert machine.start("verify").stderr == ""
    assert machine.log()[len(before):] == ["-S -c ", "-P -m app.cli verify"]


def test_a_changed_lock_is_installed_into_the_same_environment(machine: Machine) -> None:
    machine.start("verify")
    (machine.root / "requirements.lock").write_text("flask==2\n")
    machine.start("verify")
    assert machine.installs() == BY_UV * 2
    assert sum(line.startswith("-m venv") for line in machine.log()) == 1


def test_the_test_list_serves_the_program_too(machine: Machine) -> None:
    done = machine.start("test", "tests/electrics", "-k", "bias")
    said = json.loads(done.stdout)
    two_at_a_time = ["-n", "2", "--dist", "loadgroup"]
    assert said["arguments"][2:] == ["pytest", *two_at_a_time, "tests/electrics", "-k", "bias"]
    assert said["cwd"] == str(machine.root)
    machine.start("verify")
    assert machine.installs() == ["pip requirements-installer.lock", "uv requirements-test.lock"]


def test_a_python_that_went_away_means_a_new_environment(machine: Machine) -> None:
    machine.start("verify")
    python = machine.root / ".venv/bin/python"
    python.unlink()
    python.symlink_to(machine.bin / "python3.10-removed")
    assert machine.start("verify").returncode == 0
    assert sum(line.startswith("-m venv") for line in machine.log()) == 2


def test_a_python_that_does_not_run_means_a_new_environment(machine: Machine) -> None:
    """Of another processor, or without its library: it is there, and it ends at once."""
    machine.start("verify")
    python = machine.root / ".venv/bin/python"
    for broken in ("#!/nowhere/python\n", "#!/bin/sh\nexit 127\n"):
        python.write_text(broken)
        done = machine.start("verify")
        assert done.returncode == 0 and "Traceback" not in done.stderr, done.stderr
        assert "new" in done.stderr or "Making" in done.stderr
    assert sum(line.startswith("-m venv") for line in machine.log()) == 3


def test_packages_that_went_away_are_installed_again(machine: Machine) -> None:
    machine.start("verify")
    shutil.rmtree(next(machine.root.glob(".venv/lib/*/site-packages/flask-1.dist-info")))
    before = len(machine.installs())
    assert machine.start("verify").returncode == 0
    assert len(machine.installs()) > before
    assert next(machine.root.glob(".venv/lib/*/site-packages/flask-1.dist-info")).is_dir()
    assert machine.start("verify").stderr == ""


def test_a_stamp_of_an_earlier_version_counts_as_it_is(machine: Machine) -> None:
    machine.start("verify")
    stamp = machine.root / ".venv/tagstrip-installed"
    stamp.write_text("".join(line for line in stamp.read_text().splitlines(keepends=True) if not line.startswith("packages ")))
    assert machine.start("verify").stderr == ""


@pytest.mark.parametrize("instead", ["file", "link to nowhere"])
def test_a_venv_that_is_no_folder_is_named(machine: Machine, instead: str) -> None:
    folder = machine.root / ".venv"
    folder.touch() if instead == "file" else folder.symlink_to("nowhere")
    done = machine.start("verify")
    assert done.returncode == 1 and "Traceback" not in done.stderr
    assert ".venv is no folder" in done.stderr and "Remove it" in done.stderr


def test_kill_during_the_installation_heals_at_the_next_start(machine: Machine) -> None:
    machine.switch("kill launcher")
    assert machine.start("verify").returncode == -9
    (machine.root / ".venv/half-written").touch()
    machine.switch("kill launcher", on=False)
    assert machine.start("verify").returncode == 0
    assert not (machine.root / ".venv/half-written").exists()
    assert machine.start("verify").stderr == ""


def test_ctrl_c_during_the_installation_leaves_quietly(machine: Machine) -> None:
    machine.switch("ctrl-c")
    done = machine.start("verify")
    assert done.returncode == 130
    assert "Traceback" not in done.stderr


def test_when_pip_fails_its_own_words_are_shown(machine: Machine) -> None:
    machine.switch("offline")
    done = machine.start("verify")
    assert done.returncode == 1
    assert "ERROR: Could not find a version that satisfies the requirement flask" in done.stderr
    assert done.stderr.splitlines()[-1].startswith("tagstrip: pip could not install")
    assert "Collecting" not in done.stderr
    machine.switch("offline", on=False)
    assert machine.start("verify").returncode == 0


@pytest.mark.parametrize("code", [0, 1, 2])
def test_the_programs_exit_code_is_the_launchers(machine: Machine, code: int) -> None:
    assert machine.start("verify", env={"PROGRAM_EXIT": str(code)}).returncode == code


def test_only_one_start_at_a_time_installs(machine: Machine, request: pytest.FixtureRequest) -> None:
    fcntl = pytest.importorskip("fcntl")
    with (machine.root / "requirements.lock").open() as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        words, env = machine.line("verify"), machine.environment()
        pipe = subprocess.PIPE
        with subprocess.Popen(words, env=env, stdout=pipe, stderr=pipe, text=True) as second:
            request.addfinalizer(second.kill)
            assert second.stderr is not None
            assert second.stderr.readline() == "Another start is installing; waiting for it\n"
            assert machine.installs() == []
            fcntl.flock(held, fcntl.LOCK_UN)
            second.communicate(timeout=30)
            assert second.returncode == 0
    assert machine.installs() == BY_UV
