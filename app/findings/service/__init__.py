"""What people do at strip-down. Each function is one act: rule, write, journal; the caller commits."""
