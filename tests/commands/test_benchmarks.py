from __future__ import annotations

import json
from pathlib import Path

import pytest

from app.cli import main
from app.commands.benchmarks.figure import compare


def test_a_ratio_compares_what_ran_in_the_same_run() -> None:
    """sum over a range grows with the range (from memory): ten thousand times the work is clearly more."""
    found = compare("much", lambda: sum(range(1_000_000)), "little", lambda: sum(range(100)), 5)
    assert found.n == 5 and found.ratio > 50 and found.ratio == found.ms / found.beside_ms


def test_the_whole_run_measures_everything_and_leaves_nothing(capsys: pytest.CaptureFixture[str], tmp_path: Path,
                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", "postgresql://nowhere.invalid/never-asked")
    assert main(["bench", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["figures"]) == 11 and all(one["ms"] > 0 and one["ratio"] > 0 for one in told["figures"])
    assert told["peak_rss_mb"] > 0 and list(tmp_path.iterdir()) == []
