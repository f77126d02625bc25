"""A case over time, drawn or as a table."""
