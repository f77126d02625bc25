"""Every wording over the demonstration is the one that is kept: a change of words is seen, and meant."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import unified_diff
from pathlib import Path

from tests.golden.files import kept, made

MOST_LINES = 80
HOW = "If every change is meant, keep them with: python -m tests.golden"


def differing(before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[str]:
    """The lines that changed, file by file."""
    for name in sorted({*before, *after}):
        kept_lines, now = before.get(name, "").splitlines(), after.get(name, "").splitlines()
        yield from unified_diff(kept_lines, now, f"{name} kept", f"{name} now", lineterm="", n=1)


def test_every_wording_is_the_one_that_is_kept(tmp_path: Path) -> None:
    before, after = kept(), made(tmp_path)
    names = [name for name in sorted({*before, *after}) if before.get(name) != after.get(name)]
    lines = list(differing(before, after))
    more = [f"... and {len(lines) - MOST_LINES} further lines"] if len(lines) > MOST_LINES else []
    assert not names, "\n".join([f"changed: {', '.join(names)}", *lines[:MOST_LINES], *more, HOW])
