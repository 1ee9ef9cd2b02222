"""Templates that come with the program, for a shop to begin with."""

from __future__ import annotations

from app.contact.spec import TemplateFacts

_END = "\n\n{shop}\n{shop phone}"
USUAL = (
    TemplateFacts("Received", "Repair {number}: we have your {amp}",
                  "Hello {name},\n\nyour {amp} is with us as repair {number}. We will contact you by {promised}." + _END),
    TemplateFacts("Quote", "Repair {number}: quote for your {amp}",
                  "Hello {name},\n\nthe quote for your {amp} is attached. It comes to {quote total}, tax included, and is valid "
                  "until {quote valid until}.\n\nPlease answer by replying to this message or by phone. Work begins once we have "
                  "your answer." + _END),
    TemplateFacts("Ready to collect", "Repair {number}: your {amp} is ready to collect",
                  "Hello {name},\n\nyour {amp}, repair {number}, is ready to collect. Please bring the receipt." + _END),
    TemplateFacts("Papers", "Repair {number}: papers for your {amp}",
                  "Hello {name},\n\nthe papers for your {amp}, repair {number}, are attached." + _END),
)
