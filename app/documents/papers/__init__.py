"""What each paper says: one module a paper, each with its frozen facts, their version, and `facts(order, about)`."""
