"""The dose proposed for each exercise, and what it rests on."""
