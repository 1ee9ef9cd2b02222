"""What people do in a first power-up."""
