"""Strip-down: the amp made safe, what was found and what is decided about it, board sheets, waste."""
