"""A form of several blocks, one in sight at a time, and the fields such forms ask by."""
