"""What may be done to a case, what that needs, and what it would change."""
