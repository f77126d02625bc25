"""What stands between two marks of a page, put there by a command."""

from __future__ import annotations

import re
from pathlib import Path


def between(page: Path, name: str) -> str:
    """What stands between ``<!-- name -->`` and ``<!-- /name -->``; a page without the two is a fault."""
    found = re.search(_BETWEEN.format(name=name), page.read_text(encoding="utf-8"), re.DOTALL)
    if found is None:
        raise SystemExit(f"{page.name} has no place for {name}")
    return found[0]


def put_between(page: Path, name: str, made: str) -> None:
    """Put ``made`` there, in the place of what stands there; a page without the two is a fault."""
    between(page, name)
    text = page.read_text(encoding="utf-8")
    new = re.sub(_BETWEEN.format(name=name), lambda _: made, text, flags=re.DOTALL)
    page.write_text(new, encoding="utf-8")


_BETWEEN = r"(?<=<!-- {name} -->\n).*?(?=<!-- /{name} -->)"
