"""Where a user keeps other keys: found at every start, so that it imports next to nothing."""

from __future__ import annotations

import os
from pathlib import Path

ASKED = "ARMRISE_KEYS"


def is_named(path: Path) -> bool:
    """True where the environment names this file: it is then missed where it is not there."""
    named = os.environ.get(ASKED)
    return bool(named) and Path(named) == path


def keys_path() -> Path:
    """The file in which a user keeps other keys."""
    named = os.environ.get(ASKED)
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_config_dir("armrise", appauthor=False)) / "keys.toml"
