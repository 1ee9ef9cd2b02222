"""Imports go one way only. The house as DEVELOPERS.md draws it, held here."""

from __future__ import annotations

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

APP = Path(__file__).resolve().parent.parent / "app"
# A room may import those before it, never one after it: the house from the ground up.
GROUND = ("kernel", "journal", "access", "shop", "records", "orders", "search", "photos", "drawings", "kept", "measuring",
          "sound", "hardware")
STAGES = ("intake", "boards", "discharge", "findings", "removals", "circuits", "exchange", "quote", "parts", "reassembly",
          "safety", "powerup", "money", "handover", "incidents", "leftovers", "hours")
TOP = ("documents", "contact", "personal", "bench")
PURE = ("electrics", "estimating")
OUTSIDE = ("backup", "trust", "launch", "commands", "door")  # around the house, not in it
LAYERS = (*GROUND, *STAGES, *TOP)
# The only top files that may gather from every room, because gathering is what they are for.
GATHERERS = {"tables.py", "blueprints.py", "gates.py", "template_globals.py", "factory.py", "search_kinds.py",
             "loaded_at_start.py", "wsgi.py"}
PURE_FILES = ("rules", "stages", "lugs", "wording", "money", "strength", "unbroken", "typed", "local_forms", "place", "spec",
              "insulation", "stacks", "spaces", "opening_hours", "taxes")
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


def is_kind(path: Path, kind: str) -> bool:
    """Whether this is a room's file of that kind, or lies in the folder that such a file became."""
    inside = path.relative_to(APP).with_suffix("").parts
    return len(inside) > 1 and kind in inside[1:]


def test_every_package_has_its_place() -> None:
    found = {path.name for path in APP.iterdir() if (path / "__init__.py").exists()}
    assert found == {*LAYERS, *PURE, *OUTSIDE}


def test_rules_are_pure() -> None:
    """Standard library, electrics, estimating, other rules: no database, no page, no clock."""
    allowed = {*PURE, "errors"}
    for path in modules():
        if not any(is_kind(path, kind) for kind in PURE_FILES):
            continue
        found = imports(path)
        assert not {one.split(".")[0] for one in found} & OUTSIDE_PURE, path
        for name in found:
            if name.startswith("app.") and rooms_of({name}) - allowed:
                parts = name.split(".")[2:]
                pure = {*PURE_FILES, "planner", "events"}
                assert not parts or set(parts) & pure, (path, name)


def test_planner_is_pure() -> None:
    for path in [*APP.glob("reassembly/planner.py"), *APP.glob("reassembly/planner/*.py")]:
        assert rooms_of(imports(path)) <= {"reassembly"}, path
        assert not {one.split(".")[0] for one in imports(path)} & OUTSIDE_PURE, path


def test_a_room_imports_only_what_lies_below_it() -> None:
    for path in modules():
        if room(path) in LAYERS:
            above = set(LAYERS[LAYERS.index(room(path)) + 1:])
            known = rooms_of(imports(path))  # what stands under TYPE_CHECKING too: a knot is a knot
            assert not known & above, (path, known & above)


def test_no_two_packages_import_each_other() -> None:
    """No circle of packages, single modules beside them included."""
    graph: dict[str, set[str]] = {}
    for path in modules():
        inside = path.relative_to(APP).parts
        here = inside[0].removesuffix(".py")
        if here == "__init__":
            continue
        names = {name for name in rooms_of(imports(path)) if (APP / name).is_dir() or (APP / f"{name}.py").exists()}
        graph.setdefault(here, set()).update(names - {here})
    TopologicalSorter(graph).prepare()  # CycleError names the circle


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


def test_a_folder_is_imported_by_its_files() -> None:
    """No facade lists every name twice: what a package's __init__ holds of ours is its docstring, or the rooms' pages."""
    public = {"electrics", "estimating", "planner", "supply", "valves", "benchmarks", "views", "sections",
              "build", "papers"}
    for path in APP.rglob("__init__.py"):
        body = ast.parse(path.read_text(encoding="utf-8")).body[1:]
        only_names = bool(body) and all(isinstance(node, ast.Import | ast.ImportFrom | ast.Assign) for node in body)
        assert not only_names or path.parent.name in public, path


def test_services_never_commit() -> None:
    for path in modules():
        if is_kind(path, "service"):
            text = path.read_text(encoding="utf-8")
            assert "transaction()" not in text and ".commit(" not in text, path


def test_only_the_clock_asks_the_time() -> None:
    for path in modules():
        if is_kind(path, "rules") or is_kind(path, "service"):
            text = path.read_text(encoding="utf-8")
            assert "import clock" not in text and "datetime.now" not in text, path


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
