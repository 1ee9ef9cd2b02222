"""The shop's settings page."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access import clock_jumps
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.kernel import local_forms
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving
from app.shop import service
from app.shop.forms import PricesForm, ShopForm
from app.shop.queries import locale, the_shop

bp = Blueprint("shop", __name__, url_prefix="/shop")


@bp.route("", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def settings() -> Response | str:
    shop = the_shop()
    form = read_form(ShopForm, obj=shop)
    confirm = other_zone = False
    if request.method == "POST" and form.validate():
        try:
            service.check_currency(shop, form.currency.data)
            confirm = form.currency.data != shop.currency and form.confirmed.data != form.in_one_line()
            other_zone = form.time_zone.data != shop.time_zone and form.confirmed_zone.data != form.time_zone.data
            if not confirm and not other_zone:
                with saving() as saved:
                    check_fresh(shop, form)
                    service.change(shop, form.settings(), by=actor(), now=clock.now())
                    flash("Saved.", "saved")
                    return saved("shop.settings")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("shop/settings.html", form=form, version=shop.version, confirm=confirm, has_errors=form.has_errors,
                           other_zone=_in_both_zones(shop.opened_at, shop.time_zone, form.time_zone.data) if other_zone else None)


@bp.route("/clock", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def clock_page() -> Response | str:
    """Jumps of the machine's clock that wait for the owner's word."""
    if request.method == "POST":
        with saving() as saved:
            clock_jumps.confirm(by=actor(), now=clock.now())
            flash("Confirmed: the clock is right.", "saved")
            return saved("shop.clock_page")
    return render_template("shop/clock.html", jumps=clock_jumps.open_jumps(), now=clock.now())


def _in_both_zones(moment: datetime, *zones: str) -> list[tuple[str, str]]:
    """How a moment is shown in each zone."""
    return [(zone, local_forms.moment(moment.astimezone(ZoneInfo(zone)), locale())) for zone in zones]


@bp.route("/prices", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def prices() -> Response | str:
    """Labour rates, markup on parts, and how tax is put on prices. What was issued before keeps the prices of then."""
    shop = the_shop()
    form = read_form(PricesForm, obj=shop)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(shop, form)
                service.change(shop, form.settings(), by=actor(), now=clock.now())
                flash("Saved. What is issued already keeps its prices.", "saved")
                return saved("shop.prices")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("shop/prices.html", form=form, version=shop.version, has_errors=form.has_errors)
