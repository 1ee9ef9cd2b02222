"""The shop's own drawings of a model: schematics and layouts as pictures or PDF, with pins for notes on the circuit."""
