"""The pages of the hours: of one order, and of the shop."""

from app.hours.views import times, work  # noqa: F401 - their routes are registered by being imported
from app.hours.views.common import bp
from app.hours.views.shop import bp as shop_bp

__all__ = ["bp", "shop_bp"]
