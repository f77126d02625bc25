"""Findings that decide: what an answer, a value or an event asks for, and what a red-flag "no" contradicts."""
