"""Building the application: settings, hooks, rooms."""

from __future__ import annotations

from flask import Flask
from jinja2 import StrictUndefined

from app import blueprints, compiled_templates, template_globals
from app import tables as _tables  # noqa: F401 - every model is loaded before the first query
from app.access import guard, seen
from app.access import requests as access_requests
from app.config import Config
from app.db import Database, close_session, make_engine
from app.gates import (
    ACTS,
    CLOCKS,
    DUE,
    EARTH_LIMIT,
    FOLLOWERS,
    GATES,
    INSULATION_LIMIT,
    POWER_CHECKS,
    RECEIPT,
    act_needs,
    do_not_energise,
    shown_discharged,
)
from app.intake import after_signing
from app.journal import seals
from app.kernel import links, needs, refusals, speech
from app.kernel import requests as page_requests
from app.kernel.resubmitted_uploads import close_files
from app.kernel.sizes import LARGEST_BODY, MEGABYTE
from app.orders import due, gates, power, renewal
from app.photos.store import open_store
from app.quote.queries import hazards_not_cured
from app.reassembly.queries import limits
from app.shop import queries as shop

BEFORE_REQUEST = (access_requests.know_the_person, page_requests.refuse_other_sites, access_requests.refuse_too_much,
                  access_requests.refuse_to_write,
                  access_requests.ask_to_sign_in, access_requests.check_page_token)


def build(config: Config) -> Flask:
    """One application on one data folder. The schema must be current: see app.migrate."""
    app = Flask("app", template_folder="../templates", static_folder="../static")
    app.config.update(
        MAX_CONTENT_LENGTH=LARGEST_BODY, MAX_FORM_MEMORY_SIZE=2 * MEGABYTE, MAX_FORM_PARTS=1000,
        SESSION_COOKIE_HTTPONLY=True, SESSION_COOKIE_SAMESITE="Lax",
        SEND_FILE_MAX_AGE_DEFAULT=0,
    )
    work_on(app, config)
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.teardown_appcontext(close_session)
    for hook in BEFORE_REQUEST:
        app.before_request(hook)
    app.after_request(page_requests.finish)
    app.teardown_request(close_files)
    refusals.install(app)
    template_globals.install(app)
    compiled_templates.install(app)
    blueprints.install(app)
    gates.use(GATES, CLOCKS, do_not_energise, shown_discharged, hazards_not_cured)
    due.use(DUE)
    power.use(POWER_CHECKS)
    after_signing.use(RECEIPT)
    limits.use(EARTH_LIMIT, INSULATION_LIMIT)
    renewal.install()
    renewal.use(FOLLOWERS)
    links.use(ACTS, lambda endpoint, values: guard.offer(endpoint, act_needs(endpoint, values)))
    seen.install()
    seals.install()
    speech.use(speech.Speech(say=shop.in_shop_words, currency=shop.currency))
    needs.public(app.view_functions["static"])
    if missing := needs.unguarded(app):
        raise RuntimeError(f"These views do not say who may use them: {', '.join(missing)}")
    return app


def work_on(app: Flask, config: Config) -> None:
    """Point an application at a data folder: its database, its photos, its secrets."""
    notes = "__Host-tagstrip_notes" if config.secure_cookies else "tagstrip_notes"
    app.config.update(SECRET_KEY=config.secret_key, DATA=config.data, SECURE_COOKIES=config.secure_cookies,
                      SESSION_COOKIE_NAME=notes, SESSION_COOKIE_SECURE=config.secure_cookies, READ_ONLY=config.read_only)
    app.extensions["tagstrip_db"] = Database(make_engine(config.database_url))
    app.extensions["tagstrip_store"] = open_store(config.photo_url)
