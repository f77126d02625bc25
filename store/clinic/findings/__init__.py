"""Findings that decide: what an answer, value or event asks for, and what contradicts a red-flag "no"."""
