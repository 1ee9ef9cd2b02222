"""Whether this Tagstrip is in order: database, photo store, migrations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from flask import Blueprint, current_app, jsonify
from sqlalchemy.exc import SQLAlchemyError
from werkzeug.wrappers import Response

from app import migrate
from app.db import end_reading, session
from app.kernel.needs import public
from app.photos.store import the_store

bp = Blueprint("health", __name__)


@dataclass(frozen=True)
class Health:
    """Each part with 'ok' or what is wrong with it."""

    database: str
    photos: str
    migrations: str

    @property
    def ok(self) -> bool:
        return self.database == self.photos == self.migrations == "ok"

    def as_dict(self) -> dict[str, Any]:
        return {"status": "ok" if self.ok else "trouble", "database": self.database, "photos": self.photos,
                "migrations": self.migrations}


@bp.get("/healthz")
@public
def healthz() -> tuple[Response, int]:
    found = look()
    return jsonify(found.as_dict()), 200 if found.ok else 503


def look() -> Health:
    """Ask each part."""
    return Health(database=_database(), photos=_photos(), migrations=_migrations())


def _database() -> str:
    try:
        session().execute(sa.text("SELECT 1"))
    except SQLAlchemyError:
        end_reading()
        return "does not answer"
    return "can only be read" if current_app.config["READ_ONLY"] else "ok"


def _photos() -> str:
    try:
        the_store().check()
    except OSError as wrong:
        return f"cannot be used: {wrong.strerror or wrong}"
    return "ok"


def _migrations() -> str:
    try:
        there = migrate.revision(session().connection())
    except SQLAlchemyError:
        end_reading()
        return "unknown"
    wanted = migrate.newest()
    current_app.logger.debug("schema %s, wanted %s", there, wanted)
    return "ok" if there == wanted else f"the database is at {there}, this Tagstrip wants {wanted}"
