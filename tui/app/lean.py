"""What is kept out of a program that opens no connection to another machine."""

from __future__ import annotations

import sys


def import_asyncio() -> None:
    """Import asyncio as a Python without TLS has it, unless it is there already.

    It would import OpenSSL for connections that are never made: an eighth of the memory of an application of
    one word, and a thirtieth of its start. Whoever asks for ``ssl`` afterwards still gets it.
    """
    if not {"asyncio", "ssl"} & set(sys.modules):
        sys.modules["ssl"] = None  # pyright: ignore[reportArgumentType]  # as where it is not installed
        try:
            import asyncio as asyncio
        finally:
            del sys.modules["ssl"]
