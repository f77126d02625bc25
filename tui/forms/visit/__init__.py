"""Check-in, diary strip, review, and a referral registered."""
