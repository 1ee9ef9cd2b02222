"""The shop's settings page."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving
from app.shop import service
from app.shop.forms import ShopForm
from app.shop.queries import the_shop

bp = Blueprint("shop", __name__, url_prefix="/shop")


@bp.route("", methods=["GET", "POST"])
@may(May.SETTINGS)
def settings() -> Response | str:
    shop = the_shop()
    form = read_form(ShopForm, obj=shop)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(shop, form)
            service.change(shop, form.settings(), by=actor(), now=clock.now())
            flash("Saved.", "saved")
            return saved("shop.settings")
    return render_template("shop/settings.html", form=form, version=shop.version, has_errors=form.has_errors)
