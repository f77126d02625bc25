"""Copies of the whole store, which of them are kept, and back from one."""
