"""Reading tasks, times and what they add up to."""
