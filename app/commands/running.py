"""`serve`, `demo` and `migrate`."""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import sys
import threading
import time
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

from app import clock
from app import migrate as schema
from app.access.first_start import console_code
from app.commands import server
from app.commands.opening import IN_USE, alone, application, reading, settings, to_read_from
from app.commands.upgrading import brought_up_to_date
from app.config import is_read_only, store_is_shared
from app.db import opened
from app.errors import RuleBroken, Unavailable
from app.photos import identity
from app.photos.store import FolderStore, open_store
from app.trust import tls
from app.turns import in_turn, serving_alone

if TYPE_CHECKING:
    from app.config import Config

SIGN_INS = "demo-sign-ins.txt"


def migrate(given: argparse.Namespace) -> None:
    """Bring the schema up to date, and say so."""
    found = settings(given.data)
    with alone(found.data), brought_up_to_date(found, given.backup) as standing:
        print(standing.words)
        if given.accept_photos:
            store = open_store(found.photo_url)
            identity.accept(standing.engine, store, clock.now())
            print(f"{store.root} counts as this shop's folder of photos and papers from now on. "
                  f"Have it looked at: ./tagstrip verify --data {found.data}")
        if given.search:
            print(_search_anew(given.data))


def _search_anew(data: Path) -> str:
    from app.db import transaction
    from app.kernel.local_forms import counted
    from app.search import index, service

    with application(data), transaction() as current:
        index.lift(current.connection())
        renewed = service.renew_all(current)
        index.lay(current.connection())
    return f"Search index rebuilt: {counted(renewed, 'entry was', 'entries were')} not as the records say."


def serve(given: argparse.Namespace) -> None:
    """Serve this data folder until Ctrl-C."""
    if given.tls and given.proxies:
        raise RuleBroken("Give --tls or --behind-proxy, not both: behind a proxy the https is the proxy's.")
    server.refuse_taken(given.host, given.port)
    if is_read_only(given.data):
        with alone(given.data):
            _serve_to_read(given, settings(given.data, secure=given.tls))
        return
    with alone(given.data):
        _serve(given, settings(given.data, secure=given.tls or bool(given.proxies), new=True))


def demo(given: argparse.Namespace) -> None:
    """Make the demo shop if it is not there, print its sign-ins, and serve it."""
    sign_ins = given.data / SIGN_INS
    server.refuse_taken(given.host, given.port)
    if not sign_ins.exists() and given.data.exists() and any(path.name != IN_USE for path in given.data.iterdir()):
        raise RuleBroken(f"{given.data} holds something that is not a demo shop; choose another folder with --data.")
    with alone(given.data):
        if not sign_ins.exists():
            print(f"Creating a demo shop of ten weeks in {given.data} …", flush=True)
            from demo_data.play import make_shop

            make_shop(given.data, sign_ins)
        print(sign_ins.read_text(encoding="utf-8").strip(), flush=True)
        if not given.no_browser:
            _open_later(f"http://{given.host}:{given.port}/")
        _serve(given, settings(given.data, new=True))


def _serve(given: argparse.Namespace, found: Config) -> None:
    """Here only what must be done before; the pages are loaded once, in the worker."""
    with brought_up_to_date(found) as standing, serving_alone(standing.engine, shared=store_is_shared()):
        if standing.before and standing.changed:
            print(standing.words, flush=True)
        store = open_store(found.photo_url)
        with in_turn(standing.engine):
            identity.tie(standing.engine, store, clock.now())
        bring_held_forms(found.data, store)
        if not store_is_shared():
            store.sweep()
        _serve_on(given, found, standing.engine)


def bring_held_forms(data: Path, store: FolderStore) -> None:
    """Held forms lie beside the photos; those that an earlier version left in a data folder elsewhere come along, one by one."""
    old, new = data / "held", store.root.with_name("held")
    if old.resolve() == new.resolve() or not old.is_dir():
        return
    new.mkdir(parents=True, exist_ok=True, mode=0o700)
    for form in sorted(old.iterdir()):
        if not (new / form.name).exists():
            part = Path(shutil.copytree(form, new / f"new-{form.name}", dirs_exist_ok=True))
            part.rename(new / form.name)
        shutil.rmtree(form)


def _serve_to_read(given: argparse.Namespace, found: Config) -> None:
    """The folder can only be read: no schema is taken forward there, nothing is swept, and no form saves."""
    with to_read_from(found) as reads, opened(reads.database_url) as engine, reading():
        identity.refuse_other(engine, open_store(found.photo_url))
        schema.refuse_newer(there := schema.revision_of(engine))
        if there is None:
            raise Unavailable(f"{found.data} holds no shop, and it can only be read.")
        if there != schema.newest() and engine.dialect.name != "sqlite":
            raise Unavailable(schema.still_older(there, found.data))
        schema.upgrade(engine)  # of the copy
        print(f"{found.data} can only be read: everything is shown and printed as it stands, and nothing can be saved.", flush=True)
        _serve_on(given, reads, engine)


def _serve_on(given: argparse.Namespace, found: Config, engine: sa.Engine) -> None:
    names: list[str] = getattr(given, "name", [])
    proxies: list[str] = getattr(given, "proxies", [])
    with engine.connect() as connection:
        somebody = connection.execute(sa.text("SELECT 1 FROM person LIMIT 1")).first()
    engine.dispose()
    if not somebody and not found.read_only:
        print(f"First start: open the page and enter this code: {console_code(found.data)}", flush=True)
    files = tls.prepare(found.data, given.host, names) if found.secure_cookies and not proxies else None
    where = "localhost" if given.host in ("0.0.0.0", "::") else given.host  # noqa: S104 - compared, not bound
    page = f"http{'s' if files else ''}://{f'[{where}]' if ':' in where else where}:{given.port}/"
    print(f"Tagstrip is at {page}   (Ctrl-C ends it)", flush=True)
    if files:
        print(f"Set up each device once at {page}trust; the certificate's SHA-256 ends in {tls.short(found.data)}.", flush=True)
    server.run(found.data, given.host, given.port, files=files, names=names, proxies=proxies,
               reads=found.database_url if found.read_only else "")


def _open_later(url: str) -> None:
    def open_it() -> None:
        time.sleep(1.0)
        with contextlib.suppress(webbrowser.Error):
            webbrowser.open(url)

    if sys.platform != "linux" or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"):
        threading.Thread(target=open_it, daemon=True).start()
