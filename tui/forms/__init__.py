"""Everything that can be written down, each in a form of its own."""
