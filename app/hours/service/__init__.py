"""What people do with tasks, timers and calls."""
