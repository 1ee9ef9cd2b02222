"""What is done with a quote, one function per thing: lines, revisions, the answer, what is declined."""

from app.quote.service.answers import Answer, authorise
from app.quote.service.declined import Acknowledgement, acknowledge
from app.quote.service.issuing import Terms, issue
from app.quote.service.lines import add, change, withdraw

__all__ = ["Acknowledgement", "Answer", "Terms", "acknowledge", "add", "authorise", "change", "issue", "withdraw"]
