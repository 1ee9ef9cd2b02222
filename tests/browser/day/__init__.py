"""A day at the counter in a real browser, set up, played and counted by its pages alone."""
