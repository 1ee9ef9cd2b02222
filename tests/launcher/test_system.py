"""What the launcher says, or installs, when the system lacks something; the system is made up."""

import json

import pytest

from tests.launcher.conftest import DEBIAN, Machine, script

UBUNTU = {"ID": "linuxmint", "ID_LIKE": "ubuntu debian"}
FEDORA = {"ID": "fedora"}
ROCKY = {"ID": "somelinux", "ID_LIKE": "rhel centos fedora"}
ARCH = {"ID": "manjaro", "ID_LIKE": "arch"}
NO_VENV = {"modules_missing": ["ensurepip"]}
NO_PANGO = {"libraries_missing": ["pango"]}


# Package names: of Debian 12 tried on a bare system; of the others from memory.
@pytest.mark.parametrize(
    ("facts", "line"),
    [
        ({"os_release": DEBIAN}, "Debian/Ubuntu: sudo apt-get install -y "),
        ({"os_release": UBUNTU}, "Debian/Ubuntu: sudo apt-get install -y "),
        ({"os_release": FEDORA}, "Fedora: sudo dnf install python3 pango"),
        ({"os_release": ROCKY}, "Fedora: sudo dnf install python3 pango"),
        ({"os_release": ARCH}, "Arch: sudo pacman -S --needed python pango"),
        ({"system": "Darwin"}, "macOS: brew install python pango"),
        ({"system": "Windows"}, "Windows: install Python 3.11 or newer"),
        ({"os_release": None}, "This system: install with its own package manager: venv, libpango-1.0"),
    ],
)
def test_without_venv_one_line_says_what_to_install_here(
    machine: Machine, facts: dict[str, object], line: str
) -> None:
    done = machine.start("demo", **(NO_VENV | NO_PANGO | facts))
    assert done.returncode == 1
    first, said = done.stderr.splitlines()
    assert first == "Tagstrip: starting"
    assert said.startswith("tagstrip: Python's venv module is missing. " + line)
    assert machine.log() == []


def test_without_pango_the_shop_starts_with_pdfs_off(machine: Machine) -> None:
    done = machine.start("demo", **NO_PANGO)
    assert json.loads(done.stdout)["arguments"][3:] == ["demo"]
    [line] = [line for line in done.stderr.splitlines() if "Pango" in line]
    assert line == (
        "PDFs are off until Pango is installed. "
        "Debian/Ubuntu: sudo apt-get install -y libpango-1.0-0 libpangoft2-1.0-0"
    )


def test_commands_without_pdfs_do_not_mention_pango(machine: Machine) -> None:
    assert "Pango" not in machine.start("verify", **NO_PANGO).stderr


def test_a_missing_font_is_named(machine: Machine) -> None:
    assert "fonts-dejavu-core" in machine.start("demo", fonts=False).stderr


def test_the_tests_own_programs_are_named_when_missing(machine: Machine) -> None:
    said = machine.start("test").stderr
    assert "chromium poppler-utils" in said and "ngspice" in said


def fake_apt(machine: Machine, policy: str, installer: str = "") -> None:
    script(machine.bin / "apt-cache", f"/bin/cat <<'END'\n{policy}END\n")
    script(machine.bin / "apt-get", f'echo "apt-get $*" >> "$SWITCHES/log"\n{installer}')


KNOWS_T64 = """libpango-1.0-0t64:
  Installed: (none)
  Candidate: 1.56.3-1
libpangoft2-1.0-0:
  Installed: (none)
  Candidate: (none)
libpangoft2-1.0-0t64:
  Installed: (none)
  Candidate: 1.56.3-1
"""


def test_as_root_on_debian_the_names_that_apt_knows_are_installed(machine: Machine) -> None:
    fake_apt(machine, KNOWS_T64)
    done = machine.start("demo", uid=0, **NO_PANGO)
    first, second = [line for line in machine.log() if line.startswith("apt-get")]
    assert first.startswith("apt-get update")
    assert second.endswith(" libpango-1.0-0t64 libpangoft2-1.0-0t64")
    assert done.returncode == 0


def test_without_root_nothing_is_installed_on_the_system(machine: Machine) -> None:
    fake_apt(machine, KNOWS_T64)
    done = machine.start("demo", **NO_PANGO)
    assert "sudo apt-get install -y libpango-1.0-0t64 libpangoft2-1.0-0t64" in done.stderr
    assert not any(line.startswith("apt-get") for line in machine.log())


def test_when_apt_fails_its_words_are_shown_and_the_shop_starts(machine: Machine) -> None:
    fake_apt(machine, "", 'echo "E: Unable to locate package"; exit 100\n')
    done = machine.start("demo", uid=0, **NO_PANGO)
    assert "E: Unable to locate package" in done.stderr
    assert done.returncode == 0
