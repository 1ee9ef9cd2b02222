"""The sheet as frozen values, the circuit that it is, and what follows from both. Pure."""
