"""What was done and what was wrong, added up over runs of one state of the sources.

A run that is stopped goes on from its file; what was counted of other sources is never added to it.
"""

from __future__ import annotations

import hashlib
import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
EVERY = 60.0
"""Seconds between two lines about how far it is."""


class Counted:
    """How often something was done, how often it was wrong, and the longest that was waited."""

    def __init__(self, done: int = 0, wrong: int = 0, most: float = 0.0) -> None:
        self.done, self.wrong, self.most = done, wrong, most

    def add(self, done: int, wrong: int, most: float) -> None:
        """Count more of it."""
        self.done += done
        self.wrong += wrong
        self.most = max(self.most, most)


class Tally:
    """By part and kind; kept in ``file`` where one is given, after every batch."""

    def __init__(self, file: Path | None = None, sources: Callable[[], str] | None = None) -> None:
        self.file = file
        self.sources = (sources or state_of_the_sources)() if file else ""
        self.counted: dict[str, dict[str, Counted]] = {}
        self.next: dict[str, int] = {}
        self.said = time.monotonic()
        if file and file.exists():
            self._take(json.loads(file.read_text(encoding="utf-8")))

    def _take(self, kept: dict[str, Any]) -> None:
        if kept["sources"] != self.sources:
            raise SystemExit(f"{self.file} counts trials of other sources: give another file")
        self.next = kept["next"]
        for part, kinds in kept["counted"].items():
            self.counted[part] = {kind: Counted(*numbers) for kind, numbers in kinds.items()}

    def next_batch(self, part: str) -> int:
        """The number of a batch that was not begun yet."""
        number = self.next.get(part, 0)
        self.next[part] = number + 1
        return number

    def add(self, part: str, number: int, counted: dict[str, Counted]) -> None:
        """Count a finished batch."""
        kinds = self.counted.setdefault(part, {})
        for kind, one in counted.items():
            kinds.setdefault(kind, Counted()).add(one.done, one.wrong, one.most)
        if self.file:
            draft = self.file.with_name(self.file.name + ".new")
            draft.write_text(json.dumps(self._kept()), encoding="utf-8")
            draft.replace(self.file)
        if time.monotonic() - self.said > EVERY:
            self.said = time.monotonic()
            print(f"{part}: {self.done(part):,} done, {self.wrong(part)} wrong", file=sys.stderr, flush=True)

    def _kept(self) -> dict[str, Any]:
        counted = {
            part: {kind: (one.done, one.wrong, one.most) for kind, one in kinds.items()}
            for part, kinds in self.counted.items()
        }
        return {"sources": self.sources, "next": self.next, "counted": counted}

    def done(self, part: str) -> int:
        """How many of a part are done."""
        return sum(one.done for one in self.counted.get(part, {}).values())

    def wrong(self, part: str) -> int:
        """How many of a part were wrong."""
        return sum(one.wrong for one in self.counted.get(part, {}).values())


def state_of_the_sources() -> str:
    """A number for everything that the figures depend on: the program, its rules, the soak."""
    told = hashlib.sha256()
    folders = [ROOT / "store", ROOT / "tui", ROOT / "tests" / "soak"]
    files = [path for folder in folders for path in folder.rglob("*") if path.suffix in (".py", ".toml")]
    for path in sorted([*files, ROOT / "demo_caseload.json"]):
        told.update(f"{path.relative_to(ROOT)}\0".encode() + path.read_bytes())
    return told.hexdigest()
