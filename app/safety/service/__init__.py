"""What people do about safety: keep profiles, test, soak, prove."""
