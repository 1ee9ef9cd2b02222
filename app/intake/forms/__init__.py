"""Forms of the counter: people and amps, and the sheets of an order."""
