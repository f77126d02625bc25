"""First visit, review, check-in, measures and scores."""
