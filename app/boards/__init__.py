"""Board sheets: a board checked part by part, with what becomes of each."""
