"""Outcome scores: totals from answers, their scales, change and response."""
