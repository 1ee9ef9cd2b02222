"""https on the shop's own network, and how each device comes to trust it."""
