"""Range and strength over time: values of both sides, loss beyond error, contradictions."""
