"""Messy spreadsheets of three layouts in four encodings, each mutated anew: no traceback, and no guess."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from armrise.store.rules.pathway import Rules
from tests.sheets import LAYOUTS, Messy, judged, messy
from tests.soak.batches import Part, Result, Trial
from tests.soak.damages import in_short
from tests.soak.works.kind import rules


def prepare(folder: Path) -> Callable[[int, Path], Iterator[Trial]]:
    """Read the rules once; gives back what draws a batch."""
    return partial(_trials, rules())


def _trials(under: Rules, seed: int, room: Path) -> Iterator[Trial]:
    rng = random.Random(seed)
    while True:
        for layout in LAYOUTS:
            made = messy(rng, layout)
            yield Trial(
                f"a spreadsheet of {layout.name}", repr(made.content[:120]), partial(_taken, made, under)
            )


def _taken(made: Messy, under: Rules) -> Result:
    try:
        found = judged(made.content, under)
    except Exception as fault:
        return Result({"traceback": in_short(fault)})
    return Result({"guess": "; ".join(found)} if found else {})


PART = Part("mutated", "traceback, or a value that does not stand there", prepare, share=0.05, size=500)
