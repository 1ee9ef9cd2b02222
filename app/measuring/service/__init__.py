"""What people do with instruments, points and readings."""
