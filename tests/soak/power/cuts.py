"""Power cuts in the middle of every kind of work: what one may leave is looked at as after a kill."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from random import Random

from tests.soak.batches import Part, Result, Trial
from tests.soak.power.disk import MODES, Recording, State, state
from tests.soak.power.recorded import SHM, record
from tests.soak.works.every import KINDS
from tests.soak.works.kind import Kind, hold_keys, wrong

NOISE = 32768
"""So many bytes has the index of a log; after a cut it may hold anything."""


def prepare(folder: Path, kinds: tuple[Kind, ...] = KINDS) -> Callable[[int, Path], Iterator[Trial]]:
    """Record every kind of work; gives back what draws a batch."""
    hold_keys()
    recordings: dict[str, Recording] = {}
    for kind in kinds:
        laid = folder / kind.name
        laid.mkdir()
        kind.lay(laid)
        list(kind.faults(shutil.copytree(laid, folder / "once"), []))
        shutil.rmtree(folder / "once")
        recordings[kind.name] = record(kind, laid, folder)
    return partial(cuts, kinds, recordings)


def cuts(kinds: tuple[Kind, ...], recordings: dict[str, Recording], seed: int, room: Path) -> Iterator[Trial]:
    """Power cuts without end, the kinds by turns, each at a moment drawn by the seed."""
    draw = Random(seed)
    place = draw.randrange(len(kinds))
    while True:
        kind = kinds[place % len(kinds)]
        place += 1
        recording, mode = recordings[kind.name], draw.choice(MODES)
        cut = draw.randint(0, len(recording.events))
        about = f"cut after {cut} of {len(recording.events)} events, writes since {mode}"
        yield Trial(kind.name, about, partial(_look, kind, recording, cut, mode, draw.random(), room))


def _look(kind: Kind, recording: Recording, cut: int, mode: str, chance: float, room: Path) -> Result:
    draw = Random(chance)
    folder = room / "after"
    put(state(recording, cut, draw, mode), folder, draw)
    try:
        faults = list(wrong(kind, folder, recording.told(cut), reader_first=draw.random() < 0.5))
    except Exception as fault:
        faults = [f"{type(fault).__name__}: {fault}"]
    shutil.rmtree(folder)
    return Result({"lost or half done": "; ".join(faults)} if faults else {})


def put(after: State, folder: Path, draw: Random) -> None:
    """Lay a state out as files; the index of a log is noise, or gone."""
    folder.mkdir()
    for name, content in after.items():
        path = folder / name
        if content is None:
            path.mkdir(mode=0o700)
        elif not name.endswith(SHM):
            path.write_bytes(content)
            path.chmod(0o600)
        elif draw.random() < 0.5:
            path.write_bytes(draw.randbytes(NOISE))


PART = Part("power cut", "lost or half done", prepare, share=0.15)
