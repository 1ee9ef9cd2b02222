"""What was said between the shop and its customers: calls, messages, letters, and e-mail by the shop's own server."""
