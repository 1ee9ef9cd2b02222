"""What people do with what comes off. Each function is one act: rule, write, journal; the caller commits."""
