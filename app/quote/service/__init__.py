"""What is done with a quote, one function per thing: lines, revisions, the answer, what is declined."""
