"""The golden files: which there are, how they are made, and how they are written."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from tests.golden.demo import Demo, alone
from tests.golden.entries import entry_files
from tests.golden.forms import form_files
from tests.golden.listings import listing_files
from tests.golden.standings import standing_files
from tests.known_standings import remembered

FOLDER = Path(__file__).parent / "texts"


def made(folder: Path) -> dict[str, str]:
    """The text of every golden file by its name; stores and a configuration are put in ``folder``."""
    with alone(folder), remembered():
        demo = Demo.made(folder)
        return {**listing_files(demo), **standing_files(demo), **entry_files(demo), **form_files(demo)}


def kept() -> dict[str, str]:
    """The golden files as they are kept."""
    return {file.name: file.read_text(encoding="utf-8") for file in sorted(FOLDER.iterdir())}


def rewrite() -> list[str]:
    """Keep today's wordings; the names of the files that changed."""
    with tempfile.TemporaryDirectory() as folder:
        found = made(Path(folder))
    FOLDER.mkdir(exist_ok=True)
    before = kept()
    for name in before.keys() - found.keys():
        (FOLDER / name).unlink()
    changed = _changed(before, found)
    for name in changed:
        (FOLDER / name).write_text(found[name], encoding="utf-8", newline="\n")
    return changed


def _changed(before: Mapping[str, str], found: Mapping[str, str]) -> list[str]:
    return [name for name, text in found.items() if before.get(name) != text]
