"""The blueprints of the money."""

from __future__ import annotations

from flask import Blueprint

bp = Blueprint("money", __name__, url_prefix="/orders/<int:order_id>/money")
shop_bp = Blueprint("accounts", __name__, url_prefix="/money")
