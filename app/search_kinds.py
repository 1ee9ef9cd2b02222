"""What can be found, in one place: every kind of record, what warns about an order, and the tags of removed parts."""

from __future__ import annotations

from app.documents.search import PAPERS
from app.exchange.search import LISTED
from app.intake.search import AMPS, CUSTOMERS, ORDERS, do_not_energise, do_not_energise_amps
from app.parts.search import NEEDS
from app.removals.search import by_tag
from app.search.service import Everything, know

KINDS = (ORDERS, CUSTOMERS, AMPS, NEEDS, LISTED, PAPERS)
know(Everything(KINDS, do_not_energise, do_not_energise_amps, by_tag))
