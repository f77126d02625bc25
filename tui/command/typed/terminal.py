"""A listing on a terminal: as wide as it is, with colour where it has any. Words say everything too."""

from __future__ import annotations

import re
import shutil
from collections.abc import Generator
from contextlib import contextmanager
from io import StringIO

LEAST, MOST = 40, 120
"""Columns of a listing: with fewer a sentence falls apart, in longer lines the eye loses its place."""
STYLES = (
    (r"^[A-Z][A-Z ]+(?: \(\d+\)|, .*)?$", "bold"),
    (r"^(?:\d+\. |  )?[^\s,]+ (?:LEFT|RIGHT)\b", "bold"),
    (r"^FICTIONAL CASELOAD.*$|NOT SIGNED OFF|\bUNKNOWN\b", "yellow"),
    (r"; READY\b.*$", "green"),
    (r"; (?:REFER|STEP BACK ADVISED)\b.*$", "magenta"),
    (r"^ +do: .*$", "cyan"),
)
"""What stands out on a line, and how."""


def columns() -> int:
    """How many columns a listing has on this terminal."""
    return max(LEAST, min(MOST, shutil.get_terminal_size((80, 24)).columns))


@contextmanager
def as_wide_as_the_terminal() -> Generator[None, None, None]:
    """Text made inside has lines of the terminal's width."""
    from armrise.store.exchange.out.plain_text import WIDTH

    before = WIDTH.set(columns())
    try:
        yield
    finally:
        WIDTH.reset(before)


def coloured(text: str) -> str:
    """The text with what makes parts of it stand out on a terminal; without colours under ``NO_COLOR``."""
    from rich.console import Console
    from rich.text import Text

    shown = Text(text)
    for pattern, style in STYLES:
        shown.highlight_regex(re.compile(pattern, re.MULTILINE), style)
    out = StringIO()
    Console(file=out, force_terminal=True, highlight=False).print(shown, soft_wrap=True, end="")
    return out.getvalue()
