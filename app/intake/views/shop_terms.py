"""The shop's own terms: written by the owner, kept edition by edition."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.intake.forms.shop_terms import ShopTermsForm
from app.intake.queries import terms as terms_queries
from app.intake.service import terms as terms_service
from app.intake.terms import for_jurisdiction
from app.intake.terms.paragraphs import as_text
from app.intake.views.common import bp
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.shop.queries import the_shop


@bp.route("/shop/terms", methods=["GET", "POST"])
@may(May.SETTINGS)
def shop_terms() -> Response | str:
    """What customers sign: the text in force, and a new edition of it."""
    shop = the_shop()
    shipped, force = for_jurisdiction(shop.jurisdiction), terms_queries.in_force(shop.jurisdiction)
    today = clock.now().astimezone(shop.zone).date()
    stands = as_text([(one.head, one.text) for one in force.paragraphs])
    form = read_form(ShopTermsForm, text=stands, checked_on=today)
    if request.method == "POST" and form.validate():
        try:
            edition = form.edition()
            with saving() as saved:
                made = terms_service.write_edition(shipped, edition, today=today, by=actor(), now=clock.now())
                flash(f"Edition {made.edition} is in force: the next signature is under it.", "saved")
                return saved("intake.shop_terms")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("intake/shop_terms.html", form=form, has_errors=form.has_errors, shipped=shipped, force=force,
                           editions=terms_queries.editions(shipped.id))


@bp.post("/shop/terms/shipped")
@may(May.SETTINGS)
def use_shipped_terms() -> Response:
    """The program's own set again."""
    shop = the_shop()
    shipped = for_jurisdiction(shop.jurisdiction)
    with saving() as saved:
        terms_service.use_shipped(shipped, today=clock.now().astimezone(shop.zone).date(), by=actor(), now=clock.now())
        flash(f"In force again: {shipped.title}, checked on {shipped.checked}.", "saved")
        return saved("intake.shop_terms")
