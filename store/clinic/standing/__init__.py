"""Reasons for attention, where they place a case, and why one stands above another."""
