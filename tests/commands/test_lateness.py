"""What a start does not wait for: libraries that only some pages need, and templates compiled once before."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import jinja2
import pytest
from flask import Flask

from app.compiled_templates import install
from tests.commands.served import ROOT
from tests.people import Cast

LATE = {"numpy", "scipy", "PIL", "pillow_heif", "weasyprint", "pikepdf", "alembic", "cryptography", "segno", "eseries", "argon2",
        "zxcvbn", "psycopg", "granian"}
FIRST_PAGE = """
import sys
from pathlib import Path
from app import config, create_app
app = create_app(config.Config(Path(sys.argv[1]), sys.argv[2], Path(sys.argv[1]).as_uri(), "for this page only"))
answer = app.test_client().get("/people/sign-in")
assert answer.status_code == 200 and "Password" in answer.text, answer.status
print(*sys.modules)
"""
BIAS = ("assert abs(bias_volts(tap_vrms=50.0, mains_hz=50.0, series_ohm=470.0, reservoir_farad=50e-6, range_ohm=27e3, "
        "pot_ohm=15e3, load_ohm=110e3, layout='divider')) > 1")


def modules(code: str, *words: str) -> set[str]:
    """The packages that are loaded once this has run in a Python of its own."""
    done = subprocess.run([sys.executable, "-c", code, *words], cwd=ROOT, capture_output=True, text=True, check=True)
    return {name.split(".")[0] for name in done.stdout.split()}


def test_first_page_is_there_before_what_only_others_need(sqlite_templates: tuple[Path, Path, Cast], tmp_path: Path) -> None:
    assert modules(FIRST_PAGE, str(tmp_path), f"sqlite:///{sqlite_templates[1]}") & LATE == set()


def test_sums_are_there_without_pages_and_without_arrays_until_one_is_asked_for() -> None:
    heavy = LATE | {"flask", "jinja2", "sqlalchemy", "wtforms"}
    assert modules("import sys, app.electrics, app.estimating; print(*sys.modules)") & heavy == set()
    asked = "import sys\nfrom app.electrics import bias_volts\n" + BIAS + "\nprint(*sys.modules)"
    assert modules(asked) & heavy == {"numpy"}


def page(folder: Path, templates: Path, *, version: str = jinja2.__version__, trim: bool = False) -> tuple[str, int]:
    """What `page.html` says in an application of its own, and how many templates were compiled for it."""
    app = Flask("app", template_folder=str(templates))
    app.jinja_env.trim_blocks = trim
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(jinja2, "__version__", version)
        install(app, folder)
    compiled = []
    real = app.jinja_env._compile
    app.jinja_env._compile = lambda *given: compiled.append(given) or real(*given)  # type: ignore[method-assign,func-returns-value]
    with app.app_context():
        return app.jinja_env.get_template("page.html").render(), len(compiled)


@pytest.fixture
def templates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    (tmp_path / "page.html").write_text("{% if true %}\none\n{% endif %}")
    return tmp_path


def test_template_is_compiled_once_and_again_when_anything_it_depends_on_changed(templates: Path) -> None:
    kept = templates / "__pycache__"
    assert page(kept, templates) == ("\none\n", 1)
    assert page(kept, templates) == ("\none\n", 0)
    assert page(kept, templates, trim=True) == ("one\n", 1)
    assert page(kept, templates, version="99") == ("\none\n", 1)
    (templates / "page.html").write_text("two")
    assert page(kept, templates) == ("two", 1)
    assert len(list(kept.iterdir())) == 1


@pytest.mark.parametrize("harm", ["no folder", "torn"])
def test_page_is_there_where_nothing_can_be_kept(templates: Path, harm: str) -> None:
    kept = templates / "__pycache__"
    if harm == "no folder":
        kept.write_text("a file where the folder should be")
    else:
        page(kept, templates)
        for one in kept.iterdir():
            one.write_bytes(one.read_bytes()[:40])
    assert page(kept, templates) == ("\none\n", 1)


def test_nothing_is_kept_where_python_keeps_nothing(templates: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert page(templates / "__pycache__", templates) == page(templates / "__pycache__", templates) == ("\none\n", 1)
