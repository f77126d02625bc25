"""Why the database could not do it, in one sentence: the true cause, what was written, and what next.

SQLite's own words name what it tried, not what was in the way: a full disk is a "disk I/O error" while it
makes its log, a file that was moved "unable to open". So the surroundings are looked at when it has failed,
and a backup is asked for only where damage is proved.
"""

from __future__ import annotations

import errno
import os
import sqlite3
import tempfile
from contextlib import suppress
from pathlib import Path

from armrise.store.database.sqlite import fault_name
from armrise.store.database.unreadable import WHAT_NEXT, named

PROBE = 64 * 1024
"""Bytes written, and at once taken back, to see what the disk says: no less than the log asks for."""
NOTHING = "nothing was written"
FULL = (errno.ENOSPC, errno.EDQUOT)

_SURROUNDINGS = (
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_AUTH,
)
_UNSURE = (sqlite3.SQLITE_IOERR_FSYNC, sqlite3.SQLITE_IOERR_DIR_FSYNC)
_CHANGED = ("no such table", "no such column", "could not decode", "malformed")


def in_words(path: Path, error: Exception) -> str:
    """The sentence for an error of the store at ``path``."""
    code = getattr(error, "sqlite_errorcode", 0)
    if code & 0xFF == sqlite3.SQLITE_FULL:
        return full(path, temporary=_refused(path) is None)
    if code & 0xFF in _SURROUNDINGS:
        return _in_the_way(path) or _otherwise(path, error)
    if code & 0xFF == sqlite3.SQLITE_NOTADB:
        return (
            f"{path} is no readable store ({_said(error)}): "
            "give another path, or if this was yours restore a backup"
        )
    if code & 0xFF == sqlite3.SQLITE_CORRUPT or _was_changed(error):
        if row := named(error):
            return f"{row} of the store cannot be read ({_said(error)}): {WHAT_NEXT}"
        return f"{path} is damaged ({_said(error)}): {NOTHING}, keep the file as it is and restore a backup"
    return f"the database could not do it ({_said(error)}): {NOTHING}, try again"


def _said(error: Exception) -> str:
    """SQLite's own words, but where they quote the text that it could not read."""
    said = str(error)
    return fault_name(error) if "decode" in said.lower() or "malformed database schema" in said else said


def full(path: Path, *, temporary: bool = False) -> str:
    """The sentence for a disk with no room left; ``temporary`` where it may be that of temporary files."""
    other = f" or of {tempfile.gettempdir()}" if temporary else ""
    return f"no room left on the disk of {path}{other}: {NOTHING}, make room; what is recorded can be read"


def _was_changed(error: Exception) -> bool:
    said = str(error).lower()
    return isinstance(error, UnicodeDecodeError) or any(words in said for words in _CHANGED)


def _in_the_way(path: Path) -> str:
    """What keeps the file from being read or written; empty where nothing is found."""
    folder = path.parent
    try:
        if not folder.is_dir():
            return f"the folder {folder} is not there any more: {NOTHING}, no new file begun, bring it back"
        path.stat()
    except FileNotFoundError:
        return f"{path} is not there any more: {NOTHING}, no new file begun, put it back in its place"
    except OSError as error:
        return f"the folder {folder} cannot be entered ({_why(error)}): {NOTHING}, allow it"
    if not os.access(path, os.R_OK):
        return f"{path} may not be read by this account: {NOTHING}, allow it"
    if refused := _refused(path):
        return _refusing(path, refused)
    closed = not os.access(path, os.W_OK)
    return f"{path} may not be written: {NOTHING}, allow it, or open the store read-only" if closed else ""


def _refusing(path: Path, error: OSError) -> str:
    """Why nothing can be written in the folder of ``path``."""
    if error.errno in FULL:
        return full(path)
    if error.errno == errno.EROFS:
        return f"the disk of {path} is read-only: {NOTHING}, make it writable, or open the store read-only"
    if error.errno == errno.EFBIG:
        return f"{path} may not grow (a limit on the size of files): {NOTHING}, raise the limit"
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"the folder {path.parent} cannot be written: {NOTHING}, allow it, or open the store read-only"
    return f"the disk of {path} refuses to write ({_why(error)}): {NOTHING}, see to the disk"


def _otherwise(path: Path, error: Exception) -> str:
    """Open for reading, or a fault of the disk; one that failed while making sure may have kept it."""
    code = getattr(error, "sqlite_errorcode", 0)
    if code & 0xFF == sqlite3.SQLITE_READONLY:
        return f"{path} is open for reading only and cannot be written: {NOTHING}, open it for writing"
    if code in _UNSURE:
        kept = "whether the last entry is kept is not certain, look before typing it again"
    else:
        kept = NOTHING
    return f"the disk of {path} answers with a fault ({_said(error)}): {kept}; copy the file to another disk"


def _refused(path: Path) -> OSError | None:
    """What the folder says to a small file without a name, which is gone at once; None where it takes it."""
    with suppress(ImportError):
        import resource

        limit = resource.getrlimit(resource.RLIMIT_FSIZE)[0]
        if limit != resource.RLIM_INFINITY and path.stat().st_size + PROBE > limit:
            return OSError(errno.EFBIG, os.strerror(errno.EFBIG))
    try:
        with tempfile.TemporaryFile(dir=path.parent) as file:
            file.write(bytes(PROBE))
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        return error
    return None


def _why(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
