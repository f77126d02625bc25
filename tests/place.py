"""Where tests write, and how their processes begin and end.

Stores wait for the disk as they do for users; files that nobody keeps may lie in memory, where that wait is
none. Of the folders of tests only those of failed ones stay (``tmp_path_retention_policy``).
"""

from __future__ import annotations

import atexit
import os
import shutil
import sys
import tempfile

IN_MEMORY = "/dev/shm"
NEEDED = 2_000_000_000
"""Bytes that have to be free there: about four times what lies there at any time."""


def write_in_memory() -> None:
    """Let this process and those it starts put what is temporary there, unless they were told where."""
    if any(os.environ.get(name) for name in ("TMPDIR", "TEMP", "TMP")):
        return
    try:
        roomy = os.access(IN_MEMORY, os.W_OK) and shutil.disk_usage(IN_MEMORY).free > NEEDED
    except OSError:
        return
    if roomy:
        os.environ["TMPDIR"] = IN_MEMORY
        tempfile.tempdir = None  # asked for anew


def compile_once() -> None:
    """Let what is imported be kept compiled: the tests start a hundred interpreters and several workers."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False


def leave_at_once() -> None:
    """Let a worker end without taking apart, object by object, all that it holds, which takes seconds.

    What else was to be done at its end is done before: what is registered last comes first.
    """
    if "PYTEST_XDIST_WORKER" in os.environ:
        atexit.register(_end)


def _end() -> None:
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)
