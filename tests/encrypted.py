"""What tests of encrypted stores share: whether they can be had here, cheap keys, and a look at the bytes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from armrise.store.database.encrypted import asker, convert, file, kept, keys
from armrise.store.database.place import Store

PASSPHRASE = "four plain words here"
needs_the_extra = pytest.mark.skipif(
    not file.is_installed(), reason=f"encrypted stores are not tried here: {file.HOW_TO_INSTALL}"
)


@pytest.fixture
def cheap_keys(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Keys that cost nothing to make, none at hand from another test, none kept, nobody asked."""
    monkeypatch.setattr(keys, "COST", 2)
    monkeypatch.setattr(kept, "_library", lambda: None)
    keys._held.clear()
    asker.ask_by(None)
    yield
    keys._held.clear()
    asker.ask_by(None)


def encrypt(store: Path) -> Path:
    """Encrypt a store, with a key that costs nothing, and leave no plain one. Gives the path back."""
    key = keys.derive(PASSPHRASE, keys.new_salt())
    convert.convert(Store.open(store), key, datetime(2026, 3, 2, 8, 5, 9), "encryption").aside.unlink()
    keys.hold(key)
    return store


def readable(folder: Path, *words: str) -> dict[str, list[str]]:
    """The words that stand in plain in any file of the folder, by the names of the files."""
    found = {}
    for path in folder.rglob("*"):
        if path.is_file():
            content = path.read_bytes()
            if here := [w for w in words if w.encode() in content or w.encode("utf-16-le") in content]:
                found[path.name] = here
    return found
