"""By what a text, or what stands packed in its place, is told from all others."""

from __future__ import annotations

from armrise.store.record.digests import blake2b

DIGEST_BYTES = 16


def digest(text: str | bytes) -> str:
    """The digest of a text, 32 digits: by chance, no two have the same."""
    return blake2b(text if isinstance(text, bytes) else text.encode(), digest_size=DIGEST_BYTES).hexdigest()
