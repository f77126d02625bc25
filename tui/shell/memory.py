"""Memory that was needed for a while, given back to the machine."""

from __future__ import annotations

from contextlib import suppress


def give_back() -> None:
    """Have the C library give back what lies free between what is held, where it can be asked to (glibc).

    Whoever reads files by the hundred and judges cases leaves megabytes of such room, which nobody asks for
    again while the list stands. Any other library gives back, or does not, by itself.
    """
    with suppress(ImportError, OSError, TypeError, AttributeError):
        from ctypes import CDLL

        CDLL(None).malloc_trim(0)
