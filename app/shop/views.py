"""The shop's settings page."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
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
    confirm = False
    if request.method == "POST" and form.validate():
        try:
            service.check_currency(shop, form.currency.data)
            confirm = form.currency.data != shop.currency and form.confirmed.data != form.in_one_line()
            if not confirm:
                with saving() as saved:
                    check_fresh(shop, form)
                    service.change(shop, form.settings(), by=actor(), now=clock.now())
                    flash("Saved.", "saved")
                    return saved("shop.settings")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("shop/settings.html", form=form, version=shop.version, confirm=confirm, has_errors=form.has_errors)
