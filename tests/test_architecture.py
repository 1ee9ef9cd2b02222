"""Imports go one way only. The house as DEVELOPERS.md draws it, held here."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

APP = Path(__file__).resolve().parent.parent / "app"
STAGES = ("intake", "teardown", "quote", "parts", "reassembly", "safety", "handover")
PURE = ("electrics", "estimating")
SHARED = ("accounts", "photos", "journal", "measuring", "shop", "orders", "web")
TOP = ("bench", "documents")
# The only top files that may gather from every room, because gathering is what they are for.
GATHERERS = {"tables.py", "rooms.py", "pages.py", "factory.py"}
PURE_FILES = ("rules.py", "stages.py", "lugs.py", "wording.py", "money.py", "strength.py")
OUTSIDE_PURE = {"flask", "sqlalchemy", "wtforms", "werkzeug", "weasyprint", "PIL"}


def modules() -> list[Path]:
    return sorted(APP.rglob("*.py"))


def imports(path: Path) -> set[str]:
    """Dotted names this file imports, wherever in the file."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def runtime_imports(path: Path) -> set[str]:
    """The same without what stands under `if TYPE_CHECKING:`."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in list(ast.walk(tree)):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            node.body = [ast.Pass()]
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def rooms_of(names: set[str]) -> set[str]:
    return {name.split(".")[1] for name in names if name.startswith("app.") and name.count(".") >= 1}


def room(path: Path) -> str:
    parts = path.relative_to(APP).parts
    return parts[0] if len(parts) > 1 else ""


@pytest.mark.parametrize("name", PURE)
def test_pure_packages_import_nothing_of_ours_but_each_other(name: str) -> None:
    for path in (APP / name).rglob("*.py"):
        found = imports(path)
        assert rooms_of(found) <= set(PURE), path
        assert not {one.split(".")[0] for one in found} & OUTSIDE_PURE, path


def test_rules_are_pure() -> None:
    """Standard library, electrics, estimating, other rules: no database, no page, no clock."""
    allowed = {*PURE, "errors"}
    for path in modules():
        if path.name not in PURE_FILES:
            continue
        found = imports(path)
        assert not {one.split(".")[0] for one in found} & OUTSIDE_PURE, path
        for name in found:
            if name.startswith("app.") and rooms_of({name}) - allowed - {"rules"}:
                module = name.split(".")[2] if name.count(".") > 1 else ""
                pure = {"rules", "stages", "lugs", "wording", "money", "planner", "events"}
                assert module in pure or name.count(".") == 1, (path, name)


def test_planner_is_pure() -> None:
    for path in [*APP.glob("reassembly/planner.py"), *APP.glob("reassembly/planner/*.py")]:
        assert rooms_of(imports(path)) <= {"reassembly"}, path
        assert not {one.split(".")[0] for one in imports(path)} & OUTSIDE_PURE, path


def test_shared_packages_know_no_stage() -> None:
    for path in modules():
        if room(path) in SHARED:
            known = rooms_of(runtime_imports(path))
            assert not known & {*STAGES, *TOP}, (path, known)


def test_a_stage_imports_only_earlier_stages() -> None:
    for path in modules():
        if room(path) in STAGES:
            later = set(STAGES[STAGES.index(room(path)) + 1:])
            assert not rooms_of(runtime_imports(path)) & (later | set(TOP)), path


def test_nobody_imports_bench_or_documents() -> None:
    for path in modules():
        if room(path) not in (*TOP, "commands") and path.name not in GATHERERS:  # commands run the house from outside
            assert not rooms_of(runtime_imports(path)) & set(TOP), path


def test_nobody_imports_anothers_views_or_forms() -> None:
    for path in modules():
        if path.name in GATHERERS:
            continue
        for name in imports(path):
            parts = name.split(".")
            if parts[0] == "app" and len(parts) > 2 and parts[2] in ("views", "forms") and parts[1] != room(path):
                raise AssertionError(f"{path} imports {name}")


def test_services_never_commit() -> None:
    for path in modules():
        if path.name == "service.py":
            text = path.read_text(encoding="utf-8")
            assert "transaction()" not in text and ".commit(" not in text, path


def test_only_the_clock_asks_the_time() -> None:
    for path in modules():
        if path.name not in ("clock.py", "views.py") and "commands" not in path.parts:
            text = path.read_text(encoding="utf-8")
            if path.name in ("rules.py", "service.py"):
                assert "clock" not in text and "datetime.now" not in text, path


def test_modules_stay_small() -> None:
    """Over 300 lines a file becomes a folder of the same name."""
    long = {str(path.relative_to(APP)): lines for path in modules()
            if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 300}
    assert not long


def test_functions_stay_small() -> None:
    long = []
    for path in modules():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and (node.end_lineno or 0) - node.lineno > 60:
                long.append(f"{path.relative_to(APP)}:{node.name}")
    assert not long
