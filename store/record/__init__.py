"""What may be recorded: a field with its rule, the kinds of entry, the case they make up, dates in words."""
