"""What every template knows: the shop and its words, money and dates as the shop shows them, form tokens, assets."""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Callable
from datetime import UTC, date, datetime, tzinfo
from pathlib import Path
from typing import Any

from flask import Flask, current_app, url_for
from jinja2 import pass_context
from jinja2.runtime import Context

from app import blueprints, clock
from app.access.rules import May
from app.backup.remembered import of_this_shop as last_backup
from app.handover.last_visit import last_visit, visit_of
from app.hours.queries import model as model_queries
from app.hours.queries.clock_in import my_timer
from app.intake.rules import ACCESSORIES
from app.kernel import local_forms, money
from app.kernel.clock_watch import in_doubt
from app.kernel.device_choices import page_globals
from app.kernel.form_fields import draw, is_drawn
from app.kernel.links import act, linked
from app.kernel.reach import mailto, sms, tel
from app.kernel.requests import csp_nonce
from app.kernel.resubmitted_uploads import KEPT_FIELD, LEAVE_FIELD, kept_with
from app.kernel.saving import confirmed_keys
from app.kernel.tokens import UNSEEN_FIELDS, csrf_field, draft_key, once_field
from app.kernel.unbroken import unbroken
from app.leftovers.queries import how_many as names_not_matched
from app.orders.marks import marks
from app.quote.rules.lines import say_hours
from app.shop import queries
from app.shop.cautions import cautions_at
from app.shop.models import Shop
from app.shop.wording import WORDS, Pack
from app.trust import tls


def install(app: Flask) -> None:
    """Hook globals and filters into the templates."""
    app.context_processor(_globals)
    app.jinja_env.globals.update(order_marks=marks, confirmed_keys=confirmed_keys, csrf_field=csrf_field,
                                 csp_nonce=csp_nonce, draft_key=draft_key,
                                 once_field=once_field, asset=asset, act=act, linked=linked,
                                 counted=local_forms.counted, plural=local_forms.plural, own_https=own_https,
                                 kept_with=kept_with, kept_field=KEPT_FIELD, leave_field=LEAVE_FIELD,
                                 unseen_fields=UNSEEN_FIELDS, printed_at=lambda: show_moment(clock.now()), draw=draw,
                                  is_drawn=is_drawn, names_not_matched=names_not_matched, clock_in_doubt=in_doubt,
                                  last_backup=last_backup,
                                 my_timer=my_timer, say_hours=say_hours,
                                 model_history=model_queries.model_history, model_history_of=model_queries.history_of,
                                 usual_accessories=ACCESSORIES, last_visit=last_visit, visit_of=visit_of,
                                 work_proposals=model_queries.work_proposals,
                                 cautions_for=cautions_at, shop_country=queries.country)
    of_the_shop: dict[str, Callable[..., str]] = {"money": show_money, "day": show_day, "moment": show_moment,
                                                  "clock_time": show_clock, "trade": trade}
    app.jinja_env.filters.update({name: _each_time(said) for name, said in of_the_shop.items()}, unbroken=unbroken,
                                 tel=tel, sms=sms, mailto=mailto)


def _each_time(said: Callable[..., str]) -> Callable[..., str]:
    """A filter that speaks as the shop does now. Jinja would work one that is given no context out once, when a page is
    compiled, wherever all that it says stands in the page itself: the words would stay those of the first shop.
    """
    @pass_context
    def speak(_context: Context, *given: Any, **more: Any) -> str:
        return said(*given, **more)
    return speak


def _globals() -> dict[str, Any]:
    shop = queries.find()
    return {"shop": shop, "w": shop.w if shop else WORDS[Pack.VALVE], "nav": blueprints.entries(), "has_errors": False,
            "read_only": current_app.config["READ_ONLY"],
            "may": May, **page_globals()}


def asset(path: str) -> str:
    """The address of a static file, of this edition of them all, so that a browser may keep it: modules fetch each other."""
    return url_for("static", filename=path, v=edition(Path(str(current_app.static_folder))))


@functools.cache
def edition(folder: Path) -> str:
    """What all files under a folder come to."""
    found = hashlib.sha256()
    for path in sorted(folder.rglob("*.*")):
        found.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    return found.hexdigest()[:12]


def own_https() -> bool:
    """Whether this process serves https by the shop's own authority, which each device must be told of once."""
    return bool(current_app.config["SECURE_COOKIES"]) and tls.authority_der(current_app.config["DATA"]) is not None


def show_money(minor: int | None) -> str:
    """An amount in the shop's currency."""
    return "" if minor is None else unbroken(money.show(minor, queries.the_shop().currency))


def show_day(value: date | datetime | None) -> str:
    """'25 Nov 2026', in the shop's zone and as its country writes days."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        value = value.astimezone(_zone_of(queries.find()))
    return unbroken(queries.day(value))


def show_moment(value: datetime | None) -> str:
    """'25 Nov 2026, 14:03', in the shop's zone."""
    return "" if value is None else unbroken(local_forms.moment(value.astimezone(_zone_of(queries.find())), queries.locale()))


def show_clock(value: datetime | None) -> str:
    """'14:03', in the shop's zone."""
    return "" if value is None else local_forms.clock(value.astimezone(_zone_of(queries.find())))


def trade(text: str) -> str:
    """Stored text that is written in valve words, said in the shop's own."""
    return unbroken(queries.in_shop_words(text))


def _zone_of(shop: Shop | None) -> tzinfo:
    return shop.zone if shop else UTC
