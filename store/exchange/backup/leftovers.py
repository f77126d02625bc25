"""What killed runs left beside a store and among its backups, cleared only where it is certainly ours."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.files.beside import BEFORE, KEPT, usual_folder
from armrise.store.files.throwaway import clear_throwaways, untouched
from armrise.store.files.whole import DRAFT

OLDER_NAMES = (".partial", ".new")
"""How drafts ended up to version 0.5; others may name files so, hence what stands in them counts too."""


def clear(store: Path | None, now: float) -> int:
    """Clear what nobody has touched for an hour; returns how much. ``now``: seconds since 1970.

    ``store`` None: throwaway folders alone. A draft has never held anything that is not in the store, too.
    Nothing is raised: what cannot be cleared stays.
    """
    cleared = 0
    with suppress(OSError):
        cleared = clear_throwaways(now)
    if store is None:
        return cleared
    for folder in (store.parent, usual_folder(store)):
        with suppress(OSError):
            for path in [*_drafts(folder, now), *_twins(folder, store, now), *_ownerless(folder, now)]:
                path.unlink(missing_ok=True)
                cleared += 1
    return cleared


def _drafts(folder: Path, now: float) -> Iterator[Path]:
    for path in folder.iterdir():
        ours = DRAFT.fullmatch(path.name) or (path.suffix in OLDER_NAMES and _is_old_draft(path))
        if ours and untouched(path, now):
            yield path


def _ownerless(folder: Path, now: float) -> Iterator[Path]:
    """Kept lists, and what a database left beside one, of stores that are there no longer."""
    for path in folder.glob(f"*{sqlite.SUFFIX}{KEPT}*"):
        store = path.with_name(path.name[: path.name.rindex(KEPT)])
        if not os.path.lexists(store) and untouched(path, now):
            yield path


def _is_old_draft(path: Path) -> bool:
    """A store of ours, or nothing yet, under a name that a store or a backup had while it was made."""
    named = path.stem.endswith(sqlite.SUFFIX) and (path.suffix != ".new" or path.name.startswith("."))
    if not named or not path.is_file():
        return False
    head = sqlite.head_of_file(path, sqlite.HEADER_BYTES)
    return not head or sqlite.bears_our_mark(head)


def _twins(folder: Path, store: Path, now: float) -> Iterator[Path]:
    """The second name of the store itself, as a restore that was killed leaves it; never of one going on."""
    for path in folder.glob(f"{store.stem}{BEFORE}*"):
        if store.is_file() and path.samefile(store) and untouched(path, now):
            yield path
