"""Writing a file for its owner alone, whole or not at all."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from armrise.store.database.place import StoreError


def write_private(path: Path, text: str, what: str) -> None:
    """Write ``text`` with mode 0600; ``what`` names it in a refusal. Raises :class:`StoreError`."""
    draft = path.with_name(f".{path.name}.new")
    try:
        draft.unlink(missing_ok=True)
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise StoreError(f"cannot write the {what} to {path} ({why}): allow it, then write again") from None
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)
