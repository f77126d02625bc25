"""SHA-256 and BLAKE2 as Python has them built in: ``hashlib`` loads OpenSSL for the same digests."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hashlib import blake2b, sha256
else:
    try:
        from _blake2 import blake2b

        try:
            from _sha2 import sha256
        except ImportError:  # Python 3.11
            from _sha256 import sha256
    except ImportError:  # a Python built without them
        from hashlib import blake2b, sha256

__all__ = ["blake2b", "sha256"]
