"""Reading what the counter recorded: the sheets of an order, people and amps found by words, the receipt's facts."""
