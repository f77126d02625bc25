"""Where a user keeps other keys: found at every start, so that it imports next to nothing."""

from __future__ import annotations

import os
from pathlib import Path


def keys_path() -> Path:
    """The file in which a user keeps other keys."""
    named = os.environ.get("ARMRISE_KEYS")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_config_dir("armrise", appauthor=False)) / "keys.toml"
