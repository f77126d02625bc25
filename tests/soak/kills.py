"""Programs killed in the middle of their work, and what the files hold afterwards.

Each is a process of its own, forked from one that has done every kind of work once, so that nothing is
imported any more and the kill falls into the work itself. It says what was done once that was done, and is
killed without warning at a moment drawn by the seed. Afterwards the store has to be sound, with everything
that was said to be written in it, and every action whole or not there at all.
"""

from __future__ import annotations

import contextlib
import os
import select
import shutil
import signal
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from random import Random

from tests.soak.batches import Part, Result, Trial, last_of_a_process
from tests.soak.works.every import KINDS
from tests.soak.works.kind import Kind, hold_keys, wrong

LONGER = 1.3
"""A process is killed within so many times what its work takes undisturbed."""
ROUNDS = 3
"""Work that goes on is killed within so many rounds of it, and the same again."""


class _Done(BaseException):
    """Work that was done once and need not go on."""


def _stop(_: str) -> None:
    raise _Done


def prepare(folder: Path, kinds: tuple[Kind, ...] = KINDS) -> Callable[[int, Path], Iterator[Trial]]:
    """Lay out the folder of every kind and do its work once; gives back what draws a batch."""
    hold_keys()
    laid: dict[str, Path] = {}
    for kind in kinds:
        laid[kind.name] = folder / kind.name
        laid[kind.name].mkdir()
        kind.lay(laid[kind.name])
        once = _copy(laid[kind.name], folder / "once")
        with contextlib.suppress(_Done):
            kind.work(once, _stop)
        list(kind.faults(once, []))
        shutil.rmtree(once)
    return partial(kills, kinds, laid)


def kills(kinds: tuple[Kind, ...], laid: dict[str, Path], seed: int, room: Path) -> Iterator[Trial]:
    """Kills without end, the kinds by turns, each at a moment of its work drawn by the seed."""
    draw = Random(seed)
    lasts: dict[str, float] = {}
    first = draw.randrange(len(kinds))
    place = 0
    while True:
        kind = kinds[(first + place) % len(kinds)]
        place += 1
        share, reader_first = draw.uniform(0, LONGER), draw.random() < 0.5

        def do(kind: Kind = kind, share: float = share, reader_first: bool = reader_first) -> Result:
            if kind.name not in lasts:
                lasts[kind.name] = _lasts(kind, _copy(laid[kind.name], room / "measured"))
                shutil.rmtree(room / "measured")
            folder = _copy(laid[kind.name], room / "killed")
            told = _run(kind, folder, share * lasts[kind.name])
            faults = list(wrong(kind, folder, told, reader_first=reader_first))
            shutil.rmtree(folder)
            return Result({"lost or half done": "; ".join(faults)} if faults else {})

        yield Trial(kind.name, f"killed after {share:.3f} of what it takes", do)


def _copy(laid: Path, to: Path) -> Path:
    return shutil.copytree(laid, to)


def _run(kind: Kind, folder: Path, after: float) -> list[str]:
    """What the work told until it was killed, or ended."""
    child, reading = _begun(kind, folder)
    until, told = time.monotonic() + after, b""
    while (left := until - time.monotonic()) > 0:
        if select.select([reading], [], [], left)[0]:
            if not (more := os.read(reading, 1 << 16)):
                break  # it came to its end before
            told += more
    told += _ended(child, reading)
    return told.decode().split("\n")[:-1]  # the last one may be half told


def _begun(kind: Kind, folder: Path) -> tuple[int, int]:
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _work(kind, folder, writing)
    os.close(writing)
    return child, reading


def _ended(child: int, reading: int) -> bytes:
    """Kill it; what was still in the pipe."""
    with contextlib.suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reading, "rb") as pipe:
        return pipe.read()


def _work(kind: Kind, folder: Path, writing: int) -> None:
    with last_of_a_process():
        kind.work(folder, lambda line: os.write(writing, f"{line}\n".encode()) and None)


def _lasts(kind: Kind, folder: Path) -> float:
    """Seconds until the work, undisturbed, has told something; several times that for work that goes on."""
    began = time.monotonic()
    child, reading = _begun(kind, folder)
    told = os.read(reading, 1)
    took = time.monotonic() - began
    _ended(child, reading)
    if not told:
        raise RuntimeError(f"the work {kind.name} told nothing")
    return took * (ROUNDS if kind.goes_on else 1)


PART = Part("killed", "lost or half done", prepare, share=0.35)
