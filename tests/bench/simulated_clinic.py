"""The list against the truth of an invented clinic, with diaries and with visits only (ruling 75).

``python -m tests.bench.simulated_clinic [CLINICS] [SHOULDERS] [DAYS]``

Every clinic is drawn by its number, the same every time. Nothing is timed: the figures say how well the rules
find what was drawn to be true. ``--why`` names each case that a figure speaks against.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

from tests.simulated.clinician import run
from tests.simulated.figures import figures, printed

FIRST_SEED = 1


def report(clinics: int, shoulders: int, days: int, *, why: bool = False) -> None:
    """Run the clinics both ways, and print."""
    for diary in (True, False):
        seeds = range(FIRST_SEED, FIRST_SEED + clinics)
        made = figures(run(seed, shoulders=shoulders, days=days, diary=diary) for seed in seeds)
        way = "diaries" if diary else "visits only"
        print(f"{clinics} clinics x {shoulders} shoulders x {days} working days, {way}")
        print(*(f"  {line}" for line in printed(made, diary=diary)), sep="\n")
        if why:
            print(*(f"    {note}" for note in made.notes), sep="\n")


def main(arguments: Sequence[str]) -> None:
    """Run and print."""
    numbers = [int(given) for given in arguments if given != "--why"]
    clinics, shoulders, days = [*numbers, *(8, 40, 60)[len(numbers) :]]
    report(clinics, shoulders, days, why="--why" in arguments)


if __name__ == "__main__":
    main(sys.argv[1:])
