"""A package that is not whole is named in one line, with what to do."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands.served import ROOT


@pytest.mark.parametrize("harm", ["raise ModuleNotFoundError(\"No module named 'sqlalchemy.orm'\", name='sqlalchemy.orm')",
                                  "raise ImportError('libfoo.so: cannot open shared object file')", "def broken(:"])
def test_it_is_named_in_one_line(harm: str, tmp_path: Path) -> None:
    (tmp_path / "sqlalchemy.py").write_text(harm)
    code = f"import sys; sys.path.insert(0, {str(tmp_path)!r}); from app.cli import main; sys.exit(main(sys.argv[1:]))"
    done = subprocess.run([sys.executable, "-c", code, "verify", "--data", str(tmp_path)], cwd=ROOT, capture_output=True, text=True,
                          check=False)
    assert (done.returncode, done.stderr.count("\n")) == (1, 1), done.stderr
    assert "sqlalchemy" in done.stderr and ".venv" in done.stderr and "Delete" in done.stderr
