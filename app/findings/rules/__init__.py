"""What the trade and its published scales say about findings. Pure."""
