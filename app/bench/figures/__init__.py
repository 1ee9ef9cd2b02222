"""What the owner looks at: times, come-backs, hours, income and what waits longest. Of the shop, never of a person."""
