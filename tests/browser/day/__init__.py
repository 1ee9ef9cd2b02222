"""A day of the counter and the owner in a real browser, by hand: `python -m tests.browser.day [folder for pictures]`."""
