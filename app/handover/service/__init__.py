"""One function for each thing that somebody does as an amp goes out."""
