"""The log, the outbox, and what the owner sets for mail."""

from app.contact.views import log, mail, outbox  # each hangs its pages on them
from app.contact.views.common import bp, mail_bp

__all__ = ["bp", "log", "mail", "mail_bp", "outbox"]
