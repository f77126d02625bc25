"""Every wording of the program over the demonstration, kept as text.

A change of words shows here as a changed line, and is then meant or a fault. ``python -m tests.golden``
writes the files anew.
"""
