"""What came off the amp: from where, in what order, with which small parts, in which bag; and what became of it."""
