"""The one writer of output files: for the owner alone, whole or not, over nothing but their own kind."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from armrise.store.database import sqlite
from armrise.store.database.causes import FULL
from armrise.store.database.place import StoreError
from armrise.store.files.whole import draft_beside, sync_folder, write_whole

Mark = str | Callable[[Path], bool]
"""How every file of a kind begins, or what knows one."""


def write_private(path: Path, text: str | bytes, what: str, mark: Mark, force: bool | None = None) -> None:
    """Write ``text`` with mode 0600; ``what`` names it in a refusal. Raises :class:`StoreError`.

    What lies there already and is not of the kind that ``mark`` knows is kept, unless ``force``; None where
    nobody can ask for that. A store, what lies under the name of one of its logs, a link, a folder and a
    device are kept in any case.
    """

    def written() -> tuple[str, str]:
        fault = _in_the_way(path, mark, force)
        if not fault[0]:
            write_whole(path, text, over=os.path.lexists(path))
        return fault

    _or_refused(path, what, written)


def write_private_folder(path: Path, files: Mapping[str, str], what: str) -> None:
    """Write a folder of files, all of them or none, for the owner alone; it may be there, but empty.

    ``files`` are texts by their names. Raises :class:`StoreError`.
    """

    def written() -> tuple[str, str]:
        fault = _in_the_way_of_a_folder(path)
        if not fault[0]:
            _write_folder(path, files)
        return fault

    _or_refused(path, what, written)


def _or_refused(path: Path, what: str, write: Callable[[], tuple[str, str]]) -> None:
    """Write, or say in one sentence why not and what next."""
    try:
        fault, remedy = write()
    except FileExistsError:
        fault, remedy = "a file was put there just now", "look at it"
    except FileNotFoundError as error:
        fault, remedy = _why(error), "make the folder"
    except OSError as error:
        fault, remedy = _why(error), "make room" if error.errno in FULL else "allow it"
    if fault:
        raise StoreError(f"cannot write the {what} to {path} ({fault}): {remedy}, then write again") from None


def _write_folder(path: Path, files: Mapping[str, str]) -> None:
    draft = draft_beside(path)
    try:
        draft.mkdir(mode=0o700)
        for name, text in files.items():
            write_whole(draft / name, text, over=False)
        if path.is_dir():
            path.rmdir()  # refused by the system if something was put in meanwhile
        os.rename(draft, path)
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise
    sync_folder(path.parent)


def _in_the_way_of_a_folder(path: Path) -> tuple[str, str]:
    """Why the folder may not be put there, and what to do; empty when it may."""
    if path.is_symlink():
        return "a link lies there", "give the name of the folder it leads to, or another name"
    if path.is_dir():
        full = any(path.iterdir())
        return ("something lies in that folder", "name a new folder") if full else ("", "")
    if os.path.lexists(path) or _stands_beside_a_store(path):
        return "a file lies there", "name a new folder"
    return "", ""


def _in_the_way(path: Path, mark: Mark, force: bool | None) -> tuple[str, str]:
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
    if not force and not _is_ours(path, mark):
        more = "" if force is None else ", or put it in its place with --force"
        return "a file not written by armrise lies there", f"move it away or give another name{more}"
    return "", ""


def _is_ours(path: Path, mark: Mark) -> bool:
    if callable(mark):
        return mark(path)
    begins = mark.encode()
    return sqlite.head_of_file(path, len(begins)) == begins


def _stands_beside_a_store(path: Path) -> bool:
    """True for the name of a store's log, there or not: SQLite would take what lies there for its own."""
    ends = [
        end for end in sqlite.COMPANIONS if path.name.casefold().endswith(end) and len(path.name) > len(end)
    ]
    return any(sqlite.is_a_store(path.with_name(path.name[: -len(end)])) for end in ends)


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
