"""The one writer of output files: for the owner alone, whole or not, over nothing but their own kind."""

from __future__ import annotations

import os
from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.database.causes import FULL
from armrise.store.database.place import StoreError
from armrise.store.files.whole import write_whole


def write_private(path: Path, text: str, what: str, mark: str, force: bool | None = None) -> None:
    """Write ``text`` with mode 0600; ``what`` names it in a refusal. Raises :class:`StoreError`.

    ``mark`` is how every file of this kind begins. What lies there already and begins otherwise is kept,
    unless ``force``; None where nobody can ask for that. A store, what lies under the name of one of its
    logs, a link, a folder and a device are kept in any case.
    """
    try:
        fault, remedy = _in_the_way(path, mark, force)
        if not fault:
            write_whole(path, text, over=os.path.lexists(path))
    except FileExistsError:
        fault, remedy = "a file was put there just now", "look at it"
    except FileNotFoundError as error:
        fault, remedy = _why(error), "make the folder"
    except OSError as error:
        fault, remedy = _why(error), "make room" if error.errno in FULL else "allow it"
    if fault:
        raise StoreError(f"cannot write the {what} to {path} ({fault}): {remedy}, then write again") from None


def _in_the_way(path: Path, mark: str, force: bool | None) -> tuple[str, str]:
    """Why the file may not be put there, and what to do; empty when it may."""
    if path.is_dir():
        return "a folder lies there", "give the name of a file"
    if sqlite.is_a_store(path) or _stands_beside_a_store(path):
        return "that is the place of a store", "give another name"
    if path.is_symlink():
        return "a link lies there", "give the name of the file it leads to, or another name"
    if not os.path.lexists(path):
        return "", ""
    if not path.is_file():
        return "what lies there is no file", "give another name"
    if not force and sqlite.head_of_file(path, len(mark.encode())) != mark.encode():
        more = "" if force is None else ", or put it in its place with --force"
        return "a file not written by armrise lies there", f"move it away or give another name{more}"
    return "", ""


def _stands_beside_a_store(path: Path) -> bool:
    """True for the name of a store's log, there or not: SQLite would take what lies there for its own."""
    ends = [
        end for end in sqlite.COMPANIONS if path.name.casefold().endswith(end) and len(path.name) > len(end)
    ]
    return any(sqlite.is_a_store(path.with_name(path.name[: -len(end)])) for end in ends)


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
