"""Decisions about personal data: what a person's words are replaced by, what stands in the way, how long what is kept. Pure."""
