"""What commands that print cost, against an interpreter that does nothing.

``python -m tests.bench.command_line [RUNS]``

Processor time of the whole process, by turns. The store holds the demonstration's caseload; the list is
printed as on any morning, after it has been looked at before.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from tests.bench import first_frame
from tests.bench.spread import Figure, ratio, rounds, spread


class Command(NamedTuple):
    """What is typed, and how many times a bare interpreter it may take."""

    words: tuple[str, ...]
    aim: float | None = None

    @property
    def name(self) -> str:
        """As it is typed."""
        return " ".join(("armrise", *self.words))


BARE = (sys.executable, "-c", "pass")
COMMANDS = (Command(("--version",)), Command(("list",), aim=6), Command(("keys",)))


def processor(command: Sequence[str], home: Path) -> float:
    """Processor seconds that a program took from its start to its end, which has to be a good one."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = first_frame.environment(home)
    subprocess.run(command, env=environment, stdin=subprocess.DEVNULL, capture_output=True, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def measure(runs: int) -> list[list[float]]:
    """Processor seconds of the bare interpreter, then of each command, run after run."""
    programs = (BARE, *((*first_frame.ARMRISE, *command.words) for command in COMMANDS))
    took: list[list[float]] = [[] for _ in programs]
    with tempfile.TemporaryDirectory() as folder:
        first_frame.fill(Path(folder))
        first_frame.watch(first_frame.OWN, Path(folder))  # the list is opened, as on any morning
        for counts in rounds(runs):
            for program, kept in zip(programs, took, strict=True):
                seconds = processor(program, Path(folder))
                if counts:
                    kept.append(seconds)
    return took


def figures(runs: int = 15) -> list[Figure]:
    """The rows of the table: each command against the bare interpreter."""
    bare, *took = measure(runs)
    return [
        Figure(f"`{command.name}` / bare interpreter", ratio(seconds, bare), command.aim)
        for command, seconds in zip(COMMANDS, took, strict=True)
    ]


def main(arguments: Sequence[str]) -> None:
    """Measure and print."""
    bare, *took = measure(int(arguments[0]) if arguments else 15)
    print(f"{'bare interpreter':<20}{spread(bare)}")
    for command, seconds in zip(COMMANDS, took, strict=True):
        print(f"{command.name:<20}{spread(seconds)}")
    for command, seconds in zip(COMMANDS, took, strict=True):
        print(f"ratio {command.name} / bare  {ratio(seconds, bare):.1f}")


if __name__ == "__main__":
    main(sys.argv[1:])
