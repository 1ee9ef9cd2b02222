"""Everything in one file and back again, and whether everything is still what was written."""
