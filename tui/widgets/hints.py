"""The keys at the foot of a form, as at the foot of a list: keys bold, what they do muted."""

from __future__ import annotations

import re

from textual.content import Content

KEY = (
    r"(?:Esc|Enter|Backspace|Space|Tab|Up|Down|Left|Right|PgUp|PgDn|Home|End|F\d{1,2}|Ctrl\+\S|\d-\d|[^\s,])"
)
KEYS = re.compile(rf"{KEY}(?:(?:, | or | ){KEY})*(?=[\s,:]|$)")
"""The keys with which a hint begins: "y or F2", "PgDn PgUp", "1-9"."""
APART = re.compile(r"( {2,}|\n)")
"""What stands between two hints."""


def hinted(text: str) -> Content:
    """``text`` of hints such as "F2 write   Esc leave, nothing written", its keys bold."""
    told = Content("")
    for part in APART.split(text):
        keys = KEYS.match(part)
        end = keys.end() if keys else 0
        told += Content.assemble((part[:end], "bold $foreground"), (part[end:], "$text-muted"))
    return told
