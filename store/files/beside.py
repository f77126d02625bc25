"""What lies beside a store, by its names, and how its kept list is cleared, which is disposable.

Said down here because whatever puts another file in the place of a store clears that list first.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

KEPT = ".kept"
"""What stands behind the name of a store in the name of the file that its list is kept in."""
BEFORE = ".before-restore-"
"""What stands in the name of a store that was kept aside, before the date."""
BACKUPS = "backups"
_LOGS = ("", "-journal", "-wal", "-shm")


def usual_folder(store: Path) -> Path:
    """Where the backups of a store go: a folder beside it."""
    return store.parent / BACKUPS


def kept_beside(store: Path) -> Path:
    """The file that the list of the store is kept in, there or not."""
    return store.with_name(store.name + KEPT)


def forget_kept(store: Path) -> None:
    """Clear the kept list of a store, with what a database leaves beside it. Nothing is raised."""
    kept = kept_beside(store)
    for end in _LOGS:
        with suppress(OSError):
            kept.with_name(kept.name + end).unlink(missing_ok=True)
