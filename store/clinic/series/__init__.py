"""A case over time, as a chart shows it."""
