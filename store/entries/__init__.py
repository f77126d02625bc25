"""What an entry may hold, and what the entries of one case may not say together.

Every way in (a caseload file, an entry form) comes through :func:`build` and :func:`check_case`, so that the
same fault is refused with the same sentence wherever it is typed.
"""

from __future__ import annotations

from store.entries.build import build, build_head, field_rules
from store.entries.check import check_case
from store.entries.words import CaseHead, Fault, allowed

__all__ = ["CaseHead", "Fault", "allowed", "build", "build_head", "check_case", "field_rules"]
