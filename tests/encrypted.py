"""What tests of encrypted stores share: whether they can be had here, cheap keys, and a look at the bytes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from armrise.store.database.encrypted import file, kept, keys

PASSPHRASE = "four plain words here"
needs_the_extra = pytest.mark.skipif(
    not file.is_installed(), reason=f"encrypted stores are not tried here: {file.HOW_TO_INSTALL}"
)


@pytest.fixture
def cheap_keys(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Keys that cost nothing to make, none at hand from another test, none kept by this machine."""
    monkeypatch.setattr(keys, "COST", 2)
    monkeypatch.setattr(kept, "_library", lambda: None)
    keys._held.clear()
    yield
    keys._held.clear()


def readable(folder: Path, *words: str) -> dict[str, list[str]]:
    """The words that stand in plain in any file of the folder, by the names of the files."""
    found = {}
    for path in folder.rglob("*"):
        if path.is_file():
            content = path.read_bytes()
            if here := [w for w in words if w.encode() in content or w.encode("utf-16-le") in content]:
                found[path.name] = here
    return found
