"""What a new shop needs before its first amp: a list, each entry derived from the records, none ticked by hand."""
