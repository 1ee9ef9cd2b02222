"""The first start: whoever has the code of the console becomes the owner and opens the shop."""

from __future__ import annotations

from flask import Blueprint, current_app, flash, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access import first_start as console
from app.access import queries as access
from app.access import service as people
from app.access.entering import enter
from app.access.rules import Role
from app.db import transaction
from app.errors import BadInput, NotFound
from app.journal.service import Actor
from app.kernel.door_log import What, note
from app.kernel.form_fields import read_form
from app.kernel.needs import public
from app.kernel.origin import address, agent
from app.shop.forms import FirstStartForm
from app.shop.service import open_shop

bp = Blueprint("first_start", __name__, url_prefix="/people")


@bp.route("/first-start", methods=["GET", "POST"])
@public
def page() -> Response | str:
    """The first start makes the owner. Once there is one, this page is not there."""
    if access.anybody():
        raise NotFound("The shop is open already.")
    form = read_form(FirstStartForm)
    if request.method == "POST" and form.validate():
        data, now = current_app.config["DATA"], clock.now()
        if trouble := console.trouble(data, form.code.data, address(), now):
            note(What.CODE_REFUSED)
            form.add_error(BadInput(trouble, "code"))
        else:
            try:
                password = people.new_password(form.password.data, form.name.data)
                with transaction():
                    if access.anybody():
                        raise NotFound("The shop is open already.")
                    who = Actor(None, form.name.data, agent())
                    owner = people.add_person(form.name.data, Role.OWNER, password, by=who, now=now)
                    open_shop(form.shop_name.data.strip(), by=who, now=now)
                console.forget_code(data)
                note(What.SHOP_OPENED)
                flash("The shop is open. Look through its settings first.", "saved")
                return enter(owner, form, url_for("shop.settings"), by_password=True)
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template("shop/first_start.html", form=form, has_errors=form.has_errors)
