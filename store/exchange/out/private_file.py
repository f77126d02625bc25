"""Writing a file for its owner alone, whole or not at all, and never over anything else than its own kind."""

from __future__ import annotations

import os
from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.database.causes import FULL
from armrise.store.database.place import StoreError
from armrise.store.rules.versions import write_whole


def write_private(path: Path, text: str, what: str, mark: str) -> None:
    """Write ``text`` with mode 0600; ``what`` names it in a refusal. Raises :class:`StoreError`.

    ``mark`` is how every file of this kind begins. What lies there already and begins otherwise is kept.
    """
    try:
        fault, remedy = _in_the_way(path, mark)
        if not fault:
            write_whole(path, text)
    except FileNotFoundError as error:
        fault, remedy = _why(error), "make the folder"
    except OSError as error:
        fault, remedy = _why(error), "make room" if error.errno in FULL else "allow it"
    if fault:
        raise StoreError(f"cannot write the {what} to {path} ({fault}): {remedy}, then write again") from None


def _in_the_way(path: Path, mark: str) -> tuple[str, str]:
    """Why the file may not be put there, and what to do; empty when it may."""
    if path.is_dir():
        return "a folder lies there", "give the name of a file"
    if _begins_with(path, sqlite.MAGIC) or _stands_beside_a_store(path):
        return "that is the place of a store", "give another name"
    if os.path.lexists(path) and not _begins_with(path, mark.encode()):
        return "a file not written by armrise lies there", "move it away or give another name"
    return "", ""


def _stands_beside_a_store(path: Path) -> bool:
    """True for the name of a store's log, there or not: SQLite would take what lies there for its own."""
    ends = [
        end for end in sqlite.COMPANIONS if path.name.casefold().endswith(end) and len(path.name) > len(end)
    ]
    return any(_begins_with(path.with_name(path.name[: -len(end)]), sqlite.MAGIC) for end in ends)


def _begins_with(path: Path, head: bytes) -> bool:
    """False for what is no file, too: a link to nothing, a device."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(head)) == head


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
