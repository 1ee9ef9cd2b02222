"""The measuring command: ratios of one run, what it does said while it does it, nothing left behind."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path

import pytest

from app.cli import main
from app.commands.benchmarks import figure
from app.commands.benchmarks.figure import Figure, compare, table


@pytest.fixture
def few_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each act once: these tests are not about the figures."""
    monkeypatch.setattr(figure, "SHORT", 1)
    monkeypatch.setattr(figure, "FEWEST", 1)


def test_a_ratio_compares_what_ran_in_the_same_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """sum over a range grows with the range (from memory): ten thousand times the work is clearly more, by either clock."""
    monkeypatch.setattr(figure, "SECONDS", 600.0)  # a busy machine measures as often as an idle one
    found = compare("much", lambda: sum(range(1_000_000)), "little", lambda: sum(range(100)))
    assert found.n == 15 and found.ratio > 50 and found.ratio == found.ms / found.beside_ms
    assert found.cpu_ms is not None and found.cpu_ms > 1


def test_processor_time_is_not_spent_by_waiting() -> None:
    found = compare("a wait", lambda: time.sleep(0.05), "little", lambda: sum(range(100)))
    assert found.cpu_ms is not None and found.ms >= 50 and found.cpu_ms < 25


def test_a_long_act_runs_less_often_but_never_only_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(figure, "SECONDS", 0.0)
    assert compare("long", lambda: None, "little", lambda: None).n == 5


def test_what_another_process_did_has_no_processor_time() -> None:
    lines = list(table([Figure("a paper", "an empty one", 5, 300.0, 100.0, None, None),
                        Figure("a page", "an empty one", 15, 20.0, 10.0, 12.0, 8.0)]))
    assert re.search(r"a paper +5 +300\.00 ms +3\.00 +- +-  an empty one, 100\.00 ms", lines[1])
    assert re.search(r"a page +15 +20\.00 ms +2\.00 +12\.00 ms +1\.50  an empty one, 10\.00 ms", lines[2])


@pytest.mark.timeout(600)
@pytest.mark.usefixtures("few_runs")
def test_the_whole_run_measures_everything_says_so_and_leaves_nothing(
        capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TAGSTRIP_DATABASE_URL", "postgresql://nowhere.invalid/never-asked")
    assert main(["bench", "--json"]) == 0
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert len(told["figures"]) == 14 and all(one["ms"] > 0 and one["ratio"] > 0 for one in told["figures"])
    assert [one["what"] for one in told["figures"] if one["cpu_ms"] is None] == ["a repair report with its photos as PDF"]
    assert all(f"  {one['what']}, beside {one['beside']}\n" in err for one in told["figures"])
    (memory,) = told["memory"]
    assert memory["written_mb"] > 80 and 40 < memory["beside_mb"] <= memory["mb"] * 1.1 and memory["ratio"] < 1.15, memory
    assert told["peak_rss_mb"] > 0 and list(tmp_path.iterdir()) == []


@pytest.mark.timeout(600)
@pytest.mark.usefixtures("few_runs")
def test_growth_is_measured_at_each_size(capsys: pytest.CaptureFixture[str], blank_url: str, engine_name: str) -> None:
    """In a database that is named: on PostgreSQL an empty one, which is left filled; one that is not empty is refused."""
    where = ["--database", blank_url] if engine_name == "postgresql" else []
    if where:
        assert main(["bench", "--orders", "2", *where]) == 1  # at the newest schema already
        assert "not empty" in capsys.readouterr().err
    else:
        assert main(["bench", "--orders", "12,3"]) == 0
        out, err = capsys.readouterr()
        assert [word in out for word in ("at 3: bench list", "at 12: search that finds none", "without journal")] == [True] * 3
        assert err.index("grown to 3 ended orders") < err.index("grown to 12 ended orders")


@pytest.mark.parametrize("sizes", ["many", "0", "10,", "-5", "10000000"])
def test_sizes_that_are_none_are_refused(sizes: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["bench", f"--orders={sizes}"])
    assert "is no list of sizes" in capsys.readouterr().err
