"""What a running server needs of the program's own files, read once: a tree that changes under it breaks none of its pages.

Templates stay text and are compiled at their first use, static files are served from memory, data files are read into what caches
them, and the processes that make papers and decode photos are started from the text that was here at the start. Nothing else of
ours is read later.
"""

from __future__ import annotations

import hashlib
import importlib
import mimetypes
import pkgutil
from pathlib import Path

from flask import Flask, Response, request
from jinja2 import FileSystemLoader, FunctionLoader
from werkzeug.wrappers import Response as AnyResponse

from app import electrics, migrate, template_globals
from app.documents import make, pdf
from app.errors import NotFound
from app.findings import usual
from app.handover import notices
from app.incidents import duties
from app.intake import terms
from app.kernel.needs import public
from app.money import lien
from app.personal import retention
from app.photos import apart
from app.shop import cautions


def keep(app: Flask) -> None:
    """Read it all. Called once, before the first request."""
    _keep_templates(app)
    _keep_static(app)
    for read in (usual.shipped, cautions.shipped, notices.known, duties.known, terms.known, lien.known, migrate.newest,
                 migrate.known, make.styles, retention.known):
        read()
    for module in pkgutil.walk_packages(electrics.__path__, "app.electrics."):  # the sums that only some pages ask for
        importlib.import_module(module.name)
    pdf.keep_program()
    apart.keep_program()


def _keep_templates(app: Flask) -> None:
    loader = app.jinja_loader
    if not isinstance(loader, FileSystemLoader):
        raise RuntimeError("Templates are expected in one folder.")
    folder = Path(loader.searchpath[0])
    kept = {path.relative_to(folder).as_posix(): (path.read_text(encoding="utf-8"), str(path)) for path in folder.rglob("*.html")}

    def found(name: str) -> tuple[str, str, None] | None:
        return (*kept[name], None) if name in kept else None

    app.jinja_env.loader = FunctionLoader(found)


def _keep_static(app: Flask) -> None:
    folder = Path(str(app.static_folder))
    template_globals.edition(folder)
    kept = {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*.*")}

    @public
    def static(filename: str) -> AnyResponse:
        if filename not in kept:
            raise NotFound("There is nothing at this address.")
        media_type = mimetypes.guess_type(filename)[0] or "application/octet-stream"
        answer = Response(kept[filename], mimetype="text/javascript" if filename.endswith((".mjs", ".js")) else media_type)
        answer.set_etag(hashlib.sha256(kept[filename]).hexdigest()[:32])
        return answer.make_conditional(request.environ)

    app.view_functions["static"] = static
