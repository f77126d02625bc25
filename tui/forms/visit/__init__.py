"""Check-in, diary strip, review, a call, and a referral registered."""
