"""What people do on the way back. Each function is one act: rule, write, journal; the caller commits."""
