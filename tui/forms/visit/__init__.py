"""Check-in, review, red-flag list, and a referral registered."""
