"""The codes proposed for a case and a person that are registered."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

FIRST_CODE, FIRST_PERSON = "C-001", "P-001"
"""Where no code is on record yet."""


def next_code(codes: Iterable[str], otherwise: str) -> str:
    """The next free code after the commonest pattern of ``codes``; the number has no meaning inside."""
    parts = [match for code in codes if (match := re.fullmatch(r"(.*?)(\d+)", code))]
    if not parts:
        return otherwise
    prefix = Counter(match[1] for match in parts).most_common(1)[0][0]
    same = [match[2] for match in parts if match[1] == prefix]
    return f"{prefix}{max(int(n) for n in same) + 1:0{max(len(n) for n in same)}}"
