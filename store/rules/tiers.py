"""The tiers of the list: what every row has, and what rules that rank reasons name."""

TIERS = ("today", "harm if left", "contact owed", "move on", "none")
"""Tier names in order of attention; a case without a live reason is in the last."""
