from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from app.backup import place
from app.backup.place import kind_of, refuse_network
from app.errors import Unavailable
from app.launch.words import VERSION
from tests.commands.served import ROOT, command

HEAVY = ("flask", "sqlalchemy", "alembic", "weasyprint", "scipy", "numpy", "PIL", "pillow_heif", "zxcvbn", "cryptography", "babel",
         "holidays", "phonenumbers", "charset_normalizer")


def loaded(by: str) -> set[str]:
    code = f"import sys\n{by}\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    return {name for name in done.stdout.split() if name in HEAVY}


def test_help_and_wrong_words_load_nothing_heavy() -> None:
    assert loaded("from app.cli import parser; parser()") == set()


def test_serving_starts_without_what_only_some_pages_need() -> None:
    later = {"alembic", "weasyprint", "scipy", "pillow_heif", "zxcvbn", "cryptography", "babel", "holidays", "phonenumbers",
             "charset_normalizer"}
    assert loaded("import app.commands.running, app.blueprints, app.wsgi") & later == set()


def test_version_is_that_of_the_package() -> None:
    assert tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"] == VERSION
    assert command("--version").stdout == f"tagstrip {VERSION}\n"


@pytest.mark.parametrize("words", [(), ("serv",), ("serve", "--port", "70000"), ("backup",), ("restore", "a.tar")])
def test_wrong_usage_is_2_and_one_line(words: tuple[str, ...]) -> None:
    done = command(*words)
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1) and "--help" in done.stderr


@pytest.mark.parametrize("words", [("verify",), ("backup", "x.tar"), ("export", "x"), ("migrate",), ("import", "x.csv"),
                                   ("user", "add", "--name", "Ines", "--role", "owner")])
def test_a_mistyped_folder_is_named_and_not_made(tmp_path: Path, words: tuple[str, ...]) -> None:
    done = command(*words, "--data", str(tmp_path / "nowhere"))
    assert (done.returncode, done.stderr.count("\n")) == (1, 1) and "There is no data folder" in done.stderr
    assert list(tmp_path.iterdir()) == []


MOUNTS = ("/dev/sda1 / ext4 rw 0 0\nnas:/x /srv/shop\\040share nfs4 rw 0 0\n"
          "//nas/y /srv/smb cifs rw 0 0\n/dev/sdb /srv/smb/disk xfs rw 0 0\n")


@pytest.mark.parametrize(("folder", "kind"), [("/srv/shop share/data", "nfs4"), ("/srv/smb/a/b", "cifs"),
                                              ("/srv/smb/disk/a", "xfs"),
                                              ("/srv/smbx", "ext4")])
def test_the_innermost_mount_tells_the_file_system(folder: str, kind: str) -> None:
    assert kind_of(Path(folder), MOUNTS) == kind


def test_a_folder_over_the_network_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = tmp_path / "mounts"
    told.write_text(f"nas:/x {tmp_path} nfs rw 0 0\n")
    monkeypatch.setattr(place, "MOUNTS", told)
    with pytest.raises(Unavailable, match="over the network"):
        refuse_network(tmp_path / "shop")
