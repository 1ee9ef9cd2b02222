"""Reading the way back."""
