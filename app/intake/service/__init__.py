"""What the counter does, one function per thing: people and amps, the check-in, the sheets, the terms."""
