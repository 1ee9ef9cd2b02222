"""What a line costs, what a quote adds up to, and how committed cost stands to what was agreed. Pure."""

from app.quote.rules.costs import AgreedCost, Level, Limits, PartCost, commit, in_all, level
from app.quote.rules.lines import (
    Draft,
    Hours,
    Outlook,
    Priced,
    Sums,
    add_up,
    check,
    outlook,
    parse_hours,
    past_jobs_say,
    price,
    say_hours,
)
from app.quote.rules.words import (
    PRESSING,
    HowAcknowledged,
    LineGroup,
    OldParts,
    PartCondition,
    WorkKind,
    asked,
    must_be_acknowledged,
)

__all__ = ["PRESSING", "AgreedCost", "Draft", "Hours", "HowAcknowledged", "Level", "Limits", "LineGroup", "OldParts",
           "Outlook", "PartCondition", "PartCost", "Priced", "Sums", "WorkKind", "add_up", "asked", "check", "commit",
           "in_all", "level", "must_be_acknowledged", "outlook", "parse_hours", "past_jobs_say", "price", "say_hours"]
