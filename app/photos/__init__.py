"""Photos: the bytes under their SHA-256 first, then the row. The original is kept byte for byte; what is shown,
printed or sent is an upright copy without metadata."""
