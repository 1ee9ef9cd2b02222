"""Evidence from sound: recordings of the load's voltage, as found and as left, with what is read from them."""
