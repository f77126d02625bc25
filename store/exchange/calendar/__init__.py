"""Bookings and reviews due as a calendar file (iCalendar, RFC 5545)."""
