"""Strip-down: what was found and what is decided about it, board sheets, waste."""
