"""Digests without OpenSSL: the published examples, and what the standard library says."""

from __future__ import annotations

import hashlib

from armrise.store.record.digests import blake2b, sha256

ABC_SHA = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
"""FIPS 180-4, the example of one block."""
ABC_BLAKE = "ba80a53f981c4d0d6a2797b69f12f6e94c212f14685ac4b74b12bb6fdbffa2d1"
"""RFC 7693, appendix A: the first half of BLAKE2b-512 of "abc"."""


def test_the_published_examples() -> None:
    assert sha256(b"abc").hexdigest() == ABC_SHA
    assert blake2b(b"abc").hexdigest()[:64] == ABC_BLAKE


def test_they_are_those_of_the_standard_library() -> None:
    for size in (0, 1, 63, 64, 65, 100_000):
        text = bytes(range(256)) * (size // 256 + 1)
        parts = text[:size], text[size:]
        made, other = sha256(parts[0]), blake2b(parts[0], digest_size=32)
        for one in (made, other):
            one.update(parts[1])
        assert made.hexdigest() == hashlib.sha256(text).hexdigest()
        assert other.hexdigest() == hashlib.blake2b(text, digest_size=32).hexdigest()
