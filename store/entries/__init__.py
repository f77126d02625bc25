"""What an entry may hold, and what the entries of one case may not say together.

Every way in (a caseload file, an entry form) comes through ``build`` and ``check_case``, so that the
same fault is refused with the same sentence wherever it is typed.
"""
