"""The program in a terminal of its own: real keys, real signals, and every byte it sends."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

ENTERED, LEFT = b"\x1b[?1049h", b"\x1b[?1049l"
TITLE = re.compile(rb"\x1b\](?:0|1|2);([^\x07\x1b]*)")
CONTROL = re.compile(
    rb"\x1b\[[0-9;?<>=$ ]*[a-zA-Z@~]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1b[()][A-Z0-9]|\x1b."
)
PRIVATE = re.compile(rb"\x1b\[\?([0-9;]+)([hl])")
"""A private mode switched on or off: the mouse, pasting as one, the cursor (25), the other screen."""
LONGEST = 60.0
"""Seconds after which a test gives up; nothing waits so long on a machine at rest."""


class Terminal:
    """A running program, what it has sent so far, and its keyboard."""

    USUAL = frozenset((b"7", b"25"))
    """On in a terminal just opened: lines are wrapped, the cursor is seen."""

    def __init__(self, process: subprocess.Popen[bytes], handle: int) -> None:
        self.process = process
        self.handle = handle
        self.sent = b""

    def take(self, seconds: float = 0.1) -> bool:
        """Take what the program sends within ``seconds``; False once it has closed its terminal."""
        ready, _, _ = select.select([self.handle], [], [], seconds)
        if ready:
            try:
                part = os.read(self.handle, 65536)
            except OSError:
                return False
            self.sent += part
            return bool(part)
        return True

    def until(self, words: str) -> None:
        """Wait until ``words`` have been painted."""
        end = time.monotonic() + LONGEST
        while words.encode() not in CONTROL.sub(b"", self.sent):
            if not self.take() or time.monotonic() > end:
                raise AssertionError(f"never painted: {words}: {self.sent[-2000:]!r}")

    def press(self, keys: str) -> None:
        """Type."""
        os.write(self.handle, keys.encode())

    def ended(self) -> int:
        """Wait for the end; the exit code, negative for a signal."""
        end = time.monotonic() + LONGEST
        while self.process.poll() is None and time.monotonic() < end:
            self.take()
        while self.take(0.2) and time.monotonic() < end:
            if self.process.poll() is not None and not select.select([self.handle], [], [], 0.2)[0]:
                break
        return self.process.wait(timeout=5)

    def left_on_screen(self) -> str:
        """What was sent outside the alternate screen: what stands in the terminal afterwards."""
        outside = b""
        rest = self.sent
        while ENTERED in rest:
            before, _, rest = rest.partition(ENTERED)
            outside += before
            _, _, rest = rest.partition(LEFT)
        return CONTROL.sub(b"", outside + rest).decode(errors="replace")

    def modes(self) -> list[object]:
        """How the terminal reads and echoes, as the system keeps it."""
        return termios.tcgetattr(self.handle)

    def left_on(self) -> set[bytes]:
        """The private modes that were left otherwise than a terminal has them when it is opened."""
        on = set(self.USUAL)
        for names, switch in PRIVATE.findall(self.sent):
            for name in names.split(b";"):
                (on.add if switch == b"h" else on.discard)(name)
        return on ^ self.USUAL

    @property
    def titles(self) -> list[bytes]:
        """Every window title that was set."""
        return TITLE.findall(self.sent)


@contextmanager
def run(script: str, environ: Mapping[str, str], size: tuple[int, int] = (80, 24)) -> Iterator[Terminal]:
    """Run a Python script in a terminal of its own, which is killed at the end."""
    handle, inner = pty.openpty()
    fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
    root = Path(__file__).parents[2]
    process = subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=inner,
        stdout=inner,
        stderr=inner,
        cwd=root,
        env={**os.environ, "TERM": "xterm-256color", "LANG": "C.UTF-8", **environ},
        start_new_session=True,
    )
    os.close(inner)
    try:
        yield Terminal(process, handle)
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGKILL)
        process.wait(timeout=10)
        os.close(handle)
