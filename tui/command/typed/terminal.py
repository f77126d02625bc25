"""A listing on a terminal: as wide as it is, with colour where it has any. Words say everything too."""

from __future__ import annotations

import re
import shutil
from collections.abc import Generator
from contextlib import contextmanager
from io import StringIO

from rich.console import Console
from rich.text import Text

from armrise.store.exchange.out.plain_text import WIDTH

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


@contextmanager
def as_wide_as_the_terminal() -> Generator[None, None, None]:
    """Text made inside has lines of the terminal's width."""
    columns = shutil.get_terminal_size((WIDTH.get(), 24)).columns
    before = WIDTH.set(max(LEAST, min(MOST, columns)))
    try:
        yield
    finally:
        WIDTH.reset(before)


def coloured(text: str) -> str:
    """The text with what makes parts of it stand out on a terminal; without colours under ``NO_COLOR``."""
    shown = Text(text)
    for pattern, style in STYLES:
        shown.highlight_regex(re.compile(pattern, re.MULTILINE), style)
    out = StringIO()
    Console(file=out, force_terminal=True, highlight=False).print(shown, soft_wrap=True, end="")
    return out.getvalue()
