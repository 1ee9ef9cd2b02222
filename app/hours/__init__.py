"""Hours: tasks and who works on them since when, what was spent against what was agreed, and when each amp will be finished."""
