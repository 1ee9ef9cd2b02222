"""What a line costs, what a quote adds up to, and how committed cost stands to what was agreed. Pure."""
