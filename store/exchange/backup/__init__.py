"""Copies of the whole store, and back from one."""
