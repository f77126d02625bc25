"""The one decision about an overdue case."""
