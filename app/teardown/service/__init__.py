"""What people do at strip-down. Each function is one act: rule, write, journal; the caller commits."""

from app.teardown.service.findings import Facts, change_finding, record_finding
from app.teardown.service.made_safe import powered_again, record_made_safe
from app.teardown.service.outcome import act_on, decide, decline, prove, reopen, withdraw

__all__ = ["Facts", "act_on", "change_finding", "decide", "decline", "powered_again", "prove", "record_finding",
           "record_made_safe", "reopen", "withdraw"]
