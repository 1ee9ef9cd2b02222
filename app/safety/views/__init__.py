"""The pages of an order's safety test, soak run and proofs, and of the profiles."""

from app.safety.views import soaking, testing  # noqa: F401 - each adds its pages to the blueprint
from app.safety.views.common import bp
from app.safety.views.profiles import bp as profiles

__all__ = ["bp", "profiles"]
