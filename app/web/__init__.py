"""What every page shares: who is asking and what they may do, saving once, house form fields, refusals in words."""

from app.web.guard import actor, device, load_order, may, person, public
from app.web.house import House, options, read_form
from app.web.saving import check_fresh, saving

__all__ = ["House", "actor", "check_fresh", "device", "load_order", "may", "options", "person", "public", "read_form", "saving"]
