"""Steps, orders, bookings, letters, referrals, holds, endings."""
