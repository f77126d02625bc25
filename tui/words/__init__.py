"""A standing and an entry in words."""
