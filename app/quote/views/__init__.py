"""Pages of the quote."""

from app.quote.views import answering, drafting
from app.quote.views.common import bp

__all__ = ["answering", "bp", "drafting"]
