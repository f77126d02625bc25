"""What stands between two marks of a page, put there by a command."""

from __future__ import annotations

import re
from pathlib import Path


def put_between(page: Path, name: str, made: str) -> None:
    """Put ``made`` between ``<!-- name -->`` and ``<!-- /name -->``; a page without the two is a fault."""
    text = page.read_text(encoding="utf-8")
    between = rf"(?<=<!-- {name} -->\n).*?(?=<!-- /{name} -->)"
    new, found = re.subn(between, lambda _: made, text, flags=re.DOTALL)
    if not found:
        raise SystemExit(f"{page.name} has no place for {name}")
    page.write_text(new, encoding="utf-8")
