"""The first visit: ten blocks, and what each of them writes."""
