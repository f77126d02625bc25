"""A private folder that goes with the program, and what killed programs left of theirs.

Its owner holds a lock in it, which ends with the program however it ends: a folder that can be locked is
nobody's. A number of a process would not do, as it is given again, and means nothing in another container.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path

PREFIX = "armrise-"
OWNER = "owner.lock"
UNTOUCHED_SECONDS = 3600
"""What is younger may be about to be locked, or still be written. Design: nothing is written for an hour."""


@contextmanager
def throwaway() -> Generator[Path, None, None]:
    """A private folder that is removed afterwards."""
    from tempfile import TemporaryDirectory

    with TemporaryDirectory(prefix=PREFIX, ignore_cleanup_errors=True) as name:
        handle = os.open(Path(name) / OWNER, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            _lock(handle)
            yield Path(name)
        finally:
            os.close(handle)


def clear_throwaways(now: float) -> int:
    """Remove the folders whose program is gone; returns how many. ``now``: seconds since 1970."""
    from tempfile import gettempdir

    ownerless = [folder for folder in Path(gettempdir()).glob(f"{PREFIX}*") if _is_ownerless(folder, now)]
    for folder in ownerless:
        shutil.rmtree(folder, ignore_errors=True)
    return len(ownerless)


def untouched(path: Path, now: float) -> bool:
    """True for a file of our own account that nobody has written to, or named, for an hour."""
    told = path.lstat()
    own = os.name != "posix" or told.st_uid == os.getuid()
    age = now - max(told.st_mtime, told.st_ctime)
    return own and path.is_file() and not path.is_symlink() and age > UNTOUCHED_SECONDS


def _is_ownerless(folder: Path, now: float) -> bool:
    try:
        if folder.is_symlink() or not untouched(folder / OWNER, now):
            return False
        handle = os.open(folder / OWNER, os.O_RDWR)
    except OSError:
        return False
    try:
        return _lock(handle)
    finally:
        os.close(handle)


def _lock(handle: int) -> bool:
    """Lock the file for as long as it is open; False when somebody else has, or nothing can be locked."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
