"""Ready to step forward? Criteria met, not met and unknown, and what to keep in mind beside them."""
