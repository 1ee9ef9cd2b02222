"""How this device wants its pages: theme and glove mode, kept in cookies."""

from __future__ import annotations

from typing import Any

from flask import g

from app.kernel.cookies import cookie


def page_globals() -> dict[str, Any]:
    """What every template knows about how this device wants its pages."""
    theme = cookie("tagstrip_theme")
    return {"theme": theme if theme in ("light", "dark") else "auto",
            "gloves": cookie("tagstrip_gloves") == "on", "person": g.get("person")}
