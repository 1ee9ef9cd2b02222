"""How this device wants its pages: theme and glove mode, kept in cookies."""

from __future__ import annotations

from typing import Any

from flask import g, request


def page_globals() -> dict[str, Any]:
    """What every template knows about how this device wants its pages."""
    theme = request.cookies.get("tagstrip_theme", "auto")
    return {"theme": theme if theme in ("light", "dark") else "auto",
            "gloves": request.cookies.get("tagstrip_gloves") == "on", "person": g.get("person")}
