"""Trials in batches, each batch in a process of its own with a watch over it, counted as they go.

What is costly is made ready once, in this process; every batch is forked from it. A batch tells what it is
about to do and what came of it, so that one that hangs or dies is known by its kind, counted, and the batch
goes on behind it. Nine of ten batches have their folder on a disk in memory where there is one: what a killed
program leaves does not depend on the disk. The tenth has it on the real one.
"""

from __future__ import annotations

import contextlib
import gc
import json
import os
import select
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Generator, Iterator
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from tests.soak.tally import Counted, Tally

SLOW = 10.0
"""Seconds from which anything counts as hanging."""
GIVEN_UP = 60.0
"""Seconds after which it is ended."""
ON_THE_DISK = 10
"""Every so manyth batch works on the real disk."""
IN_MEMORY = Path("/dev/shm")

Faults = dict[str, str]
"""How it counts, and what was seen."""


class Result(NamedTuple):
    """What came of a trial; ``times``: it stands for so many; ``most``: the longest that was waited."""

    faults: Faults
    times: int = 1
    most: float = 0.0


class Trial(NamedTuple):
    """One trial: the kind it counts under, what it is about, and how it is done."""

    kind: str
    about: str
    do: Callable[[], Result]


class Part(NamedTuple):
    """A part of the soak."""

    name: str
    fault: str
    """What counts as a fault, in words."""
    prepare: Callable[[Path], Callable[[int, Path], Iterator[Trial]]]
    """Makes ready in a folder what all batches need. What it gives back draws one batch by its number."""
    share: float
    """Of the time, where time is given and no number."""
    size: int = 200
    """Trials of a batch at most."""


def run(
    part: Part, tally: Tally, enough: Callable[[int], bool], *, seed: int, at_once: int = 1, wanted: int = 0
) -> None:
    """Do batches until ``enough`` says so of what is done and under way; ``wanted`` of them, if not 0."""
    with tempfile.TemporaryDirectory(dir=_base(0), prefix="soak-") as ready:
        draw = part.prepare(Path(ready))
        gc.collect()
        gc.freeze()  # what is made ready stays; a batch need not copy it to look for garbage in it
        going: dict[int, _Batch] = {}
        try:
            while True:
                under_way = tally.done(part.name) + sum(batch.size for batch in going.values())
                if len(going) < at_once and not enough(under_way):
                    size = min(part.size, wanted - under_way) if wanted else part.size
                    batch = _Batch(tally.next_batch(part.name), size, part, draw, seed)
                    going[batch.pipe] = batch
                    continue
                if not going:
                    return
                _look_at(going, tally)
        finally:
            for batch in going.values():
                batch.end()


def _look_at(going: dict[int, _Batch], tally: Tally) -> None:
    """Take in what the batches told, and end what tells nothing."""
    ready, _, _ = select.select(list(going), [], [], min(1.0, GIVEN_UP / 4))
    for pipe, batch in list(going.items()):
        if pipe in ready:
            batch.take()
        over = batch.is_over()
        if over:
            del going[pipe]
            batch.end()
            if batch.finished:
                tally.add(batch.part.name, batch.number, batch.counted)
            else:
                batch.begin_behind(over)
                going[batch.pipe] = batch


class _Batch:
    """A batch under way, as the one who watches it sees it."""

    def __init__(
        self, number: int, size: int, part: Part, draw: Callable[[int, Path], Iterator[Trial]], seed: int
    ) -> None:
        self.number, self.size, self.part, self.draw, self.seed = number, size, part, draw, seed
        self.counted: dict[str, Counted] = {}
        self.place = 0
        self.finished = False
        self._fork()

    def _fork(self) -> None:
        self.room = Path(tempfile.mkdtemp(dir=_base(self.number), prefix="soak-"))
        self.pipe, writing = os.pipe()
        self.pending = b""
        self.open: tuple[str, str, float] | None = None
        self.heard = time.monotonic()
        self.ended = False
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self.pipe)
            _work(self, writing)
        os.close(writing)

    def take(self) -> None:
        """Take in what was told since."""
        told = os.read(self.pipe, 1 << 16)
        self.ended = not told
        *lines, self.pending = (self.pending + told).split(b"\n")
        for line in lines:
            self._hear(json.loads(line))

    def _hear(self, told: list[object]) -> None:
        now = time.monotonic()
        match told:
            case ["begins", str(kind), str(about)]:
                self.open, self.place = (kind, about, now), self.place + 1
            case ["ends", dict(faults), int(times), float(most)] if self.open:
                kind, about, began = self.open
                self.open = None
                if now - began > SLOW and self.heard - began < SLOW:
                    faults["hangs"] = f"took {now - began:.0f} s"
                self._count(kind, about, faults, times, most)
            case _:
                self.finished = True
        self.heard = now

    def _count(self, kind: str, about: str, faults: Faults, times: int = 1, most: float = 0.0) -> None:
        counted = self.counted.setdefault(kind, Counted())
        counted.add(times, bool(faults), most)
        for how, what in faults.items():
            where = f"seed {self.seed}, batch {self.number}, trial {self.place}"
            print(f"{self.part.name}, {kind}: {how}: {what} ({about}; {where})", file=sys.stderr, flush=True)

    def is_over(self) -> str:
        """Why it is at its end; empty while it is not."""
        if self.ended:
            return "the process died"
        return "hangs" if time.monotonic() - self.heard > GIVEN_UP else ""

    def begin_behind(self, why: str) -> None:
        """Count what it was about, and go on with what comes after."""
        kind, about, _ = self.open or (self.part.name, "between two trials", 0.0)
        if self.open is None:
            self.place += 1
        self._count(kind, about, {why: "and was ended" if why == "hangs" else "and told nothing more"})
        if self.place >= self.size:
            self.finished = True
        self._fork()

    def end(self) -> None:
        """End its process and what that one started, and take its folder away."""
        os.close(self.pipe)
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.pid, signal.SIGKILL)
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        shutil.rmtree(self.room, ignore_errors=True)


def _work(batch: _Batch, writing: int) -> None:
    """The process of a batch."""

    def tell(*told: object) -> None:
        os.write(writing, json.dumps(told).encode() + b"\n")

    with last_of_a_process():
        os.setsid()  # nobody can be asked anything
        tempfile.tempdir = str(batch.room)
        os.chdir(batch.room)
        trials = batch.draw(batch.seed * 1_000_003 + batch.number, batch.room)
        for place, trial in enumerate(islice(trials, batch.size)):
            if place < batch.place:
                continue
            tell("begins", trial.kind, trial.about[:200])
            result = trial.do()
            tell("ends", result.faults, result.times, float(result.most))
        tell("over")


@contextlib.contextmanager
def last_of_a_process() -> Generator[None, None, None]:
    """What a forked process was made for: it ends there, and what went wrong is printed."""
    code = 1
    try:
        yield
        code = 0
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    finally:
        os._exit(code)


def _base(number: int) -> Path:
    """Where the folder of a batch lies."""
    usable = IN_MEMORY.is_dir() and os.access(IN_MEMORY, os.W_OK)
    return IN_MEMORY if usable and number % ON_THE_DISK != ON_THE_DISK - 1 else Path(tempfile.gettempdir())
