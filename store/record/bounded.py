"""A file read up to a size: what is larger than any of its kind, or never ends, is refused at once."""

from __future__ import annotations

import errno
import stat
from pathlib import Path

MB = 1_000_000


def read_bounded(path: Path, most: int, *, piped: bool = False) -> bytes:
    """The bytes of the file at ``path``, ``most`` at most; only with ``piped`` may it be no ordinary file.

    Raises OSError, whose ``strerror`` says why.
    """
    mode = path.stat().st_mode
    if not (piped or stat.S_ISREG(mode) or stat.S_ISDIR(mode)):  # opening one may wait for ever
        raise OSError(errno.EINVAL, "it is no ordinary file")
    with path.open("rb", buffering=0) as file:
        found = bytearray()
        while part := file.read(most + 1 - len(found)):
            found += part
            if len(found) > most:
                raise OSError(errno.EFBIG, f"it is larger than {most // MB} MB")
    return bytes(found)
