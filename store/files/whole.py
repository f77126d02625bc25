"""Whatever the program writes goes through here: a draft beside the place, synced, then given its name.

A program that is killed leaves the file of before, or the whole new one, and at worst a draft under a name of
its own (:func:`draft_beside`). File and folder are synced, since a name that reached the disk before what it
stands for is an empty file after a power cut.
"""

from __future__ import annotations

import errno
import os
import re
from contextlib import suppress
from pathlib import Path

DRAFT = re.compile(r"\.armrise-[0-9a-f]{12}\.part(?:-wal|-shm|-journal)?")
"""The names of drafts, and of what a database keeps beside one: nobody else names a file so."""


def draft_beside(path: Path) -> Path:
    """A free name for a draft of ``path``, in its folder: a name is given within one file system only."""
    return path.with_name(f".armrise-{os.urandom(6).hex()}.part")


def free_name(path: Path) -> Path:
    """The name itself, or the first that is free with a number before its ending: "copy-2.armrise"."""
    number, free = 1, path
    while os.path.lexists(free):
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


def write_whole(path: Path, text: str | bytes, *, over: bool = True) -> None:
    """Write a file with mode 0600, whole or not at all; a text in UTF-8 as it is. Raises OSError.

    Without ``over`` a name that is taken is refused, :class:`FileExistsError`.
    """
    draft = draft_beside(path)
    try:
        handle = os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        held = text if isinstance(text, bytes) else text.encode("utf-8", errors="surrogateescape")
        with os.fdopen(handle, "wb") as out:
            out.write(held)
        put(draft, path, over=over)
    except BaseException:
        with suppress(OSError):
            os.unlink(draft)
        raise


def put(draft: Path, path: Path, *, over: bool, lasting: bool = True) -> None:
    """Give a finished draft its name, with file and folder on the disk. Raises OSError.

    Without ``over`` a name that is taken is refused, :class:`FileExistsError`, even one taken just now.
    ``lasting`` False does not wait for the disk.
    """
    if lasting:
        sync(draft)
    if over:
        os.replace(draft, path)
    else:
        _put_new(draft, path)
    if lasting:
        sync_folder(path.parent)


def _put_new(draft: Path, path: Path) -> None:
    try:
        os.link(draft, path)  # which, unlike a rename, replaces nothing
    except FileExistsError:
        raise
    except OSError:  # a file system without a second name for a file
        if os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
        os.rename(draft, path)
    else:
        os.unlink(draft)


def sync(path: Path) -> None:
    """Have what is in the file on the disk."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Have the names in the folder on the disk, where the system knows how."""
    if os.name != "posix":
        return
    try:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    except OSError:  # a folder that may be written to and not read
        return
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno in (errno.EIO, errno.ENOSPC):
            raise
    finally:
        os.close(handle)


def add_private(path: Path, text: str) -> None:
    """Add to the end of a text file of mode 0600, made with its folder if there is none. Raises OSError.

    Never through a link, into a pipe or a device.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    careful = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | careful, 0o600)
    with os.fdopen(handle, "a", encoding="utf-8") as file:
        file.write(text)
