"""Pictures of sums, as values: shapes and words with the name of their ink. The template draws them."""
