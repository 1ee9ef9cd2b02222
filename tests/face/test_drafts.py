"""Which forms keep a draft: every one that is posted, except where a secret or a person is entered."""

from __future__ import annotations

import re
from pathlib import Path

TEMPLATES = Path(__file__).parents[2] / "templates"
NEVER = {"access": "passwords, PINs and people", "shop/first_start.html": "the first password",
         "errors": "sends again what was refused"}
BUTTONS_ONLY = {"access/held.html", "findings/wires.html", "orders/_marks.html", "photos/page.html", "base.html",
                "errors/away.html"}


def test_a_draft_is_left_out_only_where_a_secret_or_a_person_is_entered() -> None:
    for path in TEMPLATES.rglob("*.html"):
        name = path.relative_to(TEMPLATES).as_posix()
        starts = re.findall(r"\{\{ form_start\((.*?)\) \}\}", path.read_text(encoding="utf-8"))
        left_out = [one for one in starts if "draft=false" in one]
        allowed = name in NEVER or name.split("/")[0] in NEVER
        assert bool(left_out) == (allowed and bool(starts)), name
        assert not allowed or len(left_out) == len(starts), name


def test_no_form_is_written_past_the_macro_but_those_of_buttons() -> None:
    """A form written by hand has no draft: these have nothing in them that is typed and saved."""
    by_hand = {path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*.html")
               if re.search(r'<form[^>]*method="post"', path.read_text(encoding="utf-8"))}
    assert by_hand == BUTTONS_ONLY


def test_a_secret_is_never_a_plain_text_field() -> None:
    """Drafts leave out fields of type password by their type alone."""
    for path in (Path(__file__).parents[2] / "app").rglob("forms*.py"):
        for name, kind in re.findall(r"^    ((?:\w+_)?(?:pin|password)) = (\w+)\(", path.read_text(encoding="utf-8"), re.MULTILINE):
            assert kind == "PasswordField", f"{path.name}: {name}"
