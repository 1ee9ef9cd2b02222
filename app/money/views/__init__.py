"""The money of an order, and of the shop: what is owed, statements, the accountant's file."""

from app.money.views import order, shop  # noqa: F401 - their pages hang on the blueprints
from app.money.views.common import bp, shop_bp

__all__ = ["bp", "shop_bp"]
