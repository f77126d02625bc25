"""The worked examples of practice note 5.3, number by number, against what the note prints.

Each is a whole record: a home programme, the weights at home, mornings that make the baseline, sessions with
what was done of each set. The item is external rotation in side-lying, 3 sets, range 8 to 12; the pain limits
are during 5, later 4 (OA2). Example 8 reads DELOAD, "see the verdict" (ruling 57).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.programme.proposal import Proposal
from armrise.store.record.kinds.programme import HomeLoads
from tests.clinic.build import TODAY, Builder, case, item, rules

NAME = "side-lying external rotation"
HOME = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8)
HEAVY = (36, 38, 40, 42, 44)
BANDS = (2, 3)
FULL = 3


@dataclass(frozen=True)
class Example:
    """One row of the table: ``now`` and ``out`` as printed, ``said`` words that the reason has to hold.

    ``sessions`` are (day, triple, sets done); ``since`` the day the present dose was set, ``rose`` the day
    the load went up. ``baseline`` None leaves the mornings out.
    """

    number: int
    now: str
    sessions: tuple[tuple[int, tuple[int | None, int | None, int | None], int], ...]
    classes: str
    word: str
    out: str
    said: tuple[str, ...] = ()
    baseline: int | None = 2
    home: tuple[float, ...] = HOME
    since: int = -50
    rose: int | None = None


def alike(
    count: int, triple: tuple[int, int, int] = (3, 3, 2)
) -> tuple[tuple[int, tuple[int, int, int], int], ...]:
    """``count`` sessions of the same triple, full, two days apart, the newest yesterday."""
    return tuple((-1 - 2 * back, triple, FULL) for back in reversed(range(count)))


EXAMPLES = [
    Example(1, "3x8 @ 2", ((-3, (3, 2, 2), 3), (-1, (3, 3, 2), 3)), "good, good", "REPS", "3x10 @ 2"),
    Example(2, "3x8 @ 2", ((-1, (3, 3, 2), 3),), "good", "HOLD", "3x8 @ 2", ("1 of 2",)),
    Example(3, "3x12 @ 2", alike(2), "good, good", "HOLD", "3x12 @ 2", ("2 of 3", "2.5 kg is +25 %")),
    Example(4, "3x12 @ 2", alike(3), "good, good, good", "LOAD", "3x8 @ 2.5"),
    Example(5, "3x12 @ 40", alike(2), "good, good", "LOAD", "3x8 @ 42", ("+5 %",), home=HEAVY),
    Example(
        6,
        "3x12 @ 2",
        ((-4, (3, 3, 2), 3), (-3, (3, 3, 2), 3), (-2, (3, 3, 2), 3)),
        "good, good, good",
        "HOLD",
        "3x12 @ 2",
        ("load rose 5 days ago", "opens in 2 days"),
        since=-5,
        rose=-5,
    ),
    Example(
        7,
        "3x12 @ 5",
        ((-3, (4, 3, 2), 3), (-1, (4, 4, 5), 3)),
        "good, flare",
        "DELOAD",
        "3x8 @ 4",
        ("not before a morning of 3 or less",),
    ),
    Example(
        8,
        "3x8 @ 3",
        ((-5, (4, 3, 5), 3), (-3, (3, 3, 2), 3), (-1, (4, 3, 5), 3)),
        "flare, good, flare",
        "DELOAD",
        "3x8 @ 2",
        ("see the verdict", "2 kg, the next at home below 2.4 kg"),
    ),
    Example(
        9,
        "3x8 @ 2",
        ((-3, (3, 2, 2), 3), (-1, (6, 3, 2), 3)),
        "good, over",
        "HOLD",
        "3x8 @ 2",
        ("over the limit once",),
    ),
    Example(10, "3x8 @ 2", ((-3, (6, 3, 2), 3), (-1, (6, 3, 2), 3)), "over, over", "REDUCE", "2x8 @ 2"),
    Example(
        11,
        "3x8 @ 2",
        ((-5, (3, 2, 2), 3), (-3, (3, 2, None), 3)),
        "good, incomplete",
        "WAIT",
        "3x8 @ 2",
        ("next-morning score for Fri 27 Feb missing",),
    ),
    Example(
        12, "3x8 @ 2", ((-3, (3, 2, 2), 3), (-1, (8, None, None), 3)), "good, flare", "DELOAD", "3x8 @ 1.5"
    ),
    Example(
        13,
        "3x8 @ 2",
        ((-3, (3, 2, 2), 3), (-1, (3, 2, 2), 2)),
        "good, good",
        "HOLD",
        "3x8 @ 2",
        ("dose not completed",),
    ),
    Example(
        14,
        "3x8 @ 4",
        ((-16, (3, 2, 2), 3),),
        "good",
        "RESTART",
        "3x8 @ 3",
        ("16 days ago", "3 kg, the next at home below 3.2 kg"),
    ),
    Example(15, "3x8 @ 2", ((-30, (3, 2, 2), 3),), "good", "REASSESS", "", ("30 days ago",)),
    Example(16, "3x8 @ 1", ((-1, (3, 3, 6), 3),), "flare", "DELOAD", "2x8 @ 1"),
    Example(17, "3x12 band 2", alike(3), "good, good, good", "LOAD", "3x8 band 3"),
    Example(
        18, "3x8 @ 2", ((-3, (2, 1, 0), 3), (-1, (2, 1, 2), 3)), "good, raised", "HOLD", "3x8 @ 2", baseline=0
    ),
    Example(
        19,
        "3x8 @ 2",
        ((-3, (2, 1, 1), 3), (-1, (2, 1, 1), 3)),
        "incomplete, incomplete",
        "WAIT",
        "3x8 @ 2",
        ("baseline needs 3 mornings",),
        baseline=None,
    ),
]


def read(text: str) -> tuple[int, int, Decimal | None, int | None]:
    """(sets, reps, kg, band) of a printed dose: "3x8 @ 2" or "3x12 band 2"."""
    count, _, load = text.partition(" ")
    sets, reps = (int(n) for n in count.split("x"))
    kind, _, much = load.partition(" ")
    return sets, reps, Decimal(much) if kind == "@" else None, int(much) if kind == "band" else None


def made(example: Example) -> Builder:
    """The record of an example."""
    sets, reps, load, band = read(example.now)
    first = example.sessions[0][0]
    built = case("OA2", day=60).add(
        HomeLoads, -60, weights=tuple(Decimal(str(w)) for w in example.home), bands=tuple(map(Decimal, BANDS))
    )
    dose = {"exercise": NAME, "reps_low": 8, "reps_high": 12, "band": band}
    if example.rose is not None:
        assert load is not None
        built.programme(-50, "R1", sets, reps, load=load - Decimal("0.5"), **dose)
    built.programme(example.since, "R1", sets, reps, load=load, **dose)
    if example.baseline is not None:
        built.mornings(first - 5, *[example.baseline] * 6)
    for day, triple, done in example.sessions:
        work = item("R1", done, reps, exercise=NAME, sets_asked=sets, reps_asked=reps, load=load, band=band)
        built.session(day, *triple, work)
    return built


def proposed(built: Builder, name: str = NAME) -> Proposal:
    """The proposal for one exercise of a record."""
    found = proposals(View.of(built.record(), rules(), TODAY))
    return next(p for p in found if p.item.exercise == name)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"5.3 no. {e.number}")
def test_worked_example(example: Example) -> None:
    built = made(example)
    view = View.of(built.record(), rules(), TODAY)
    assert ", ".join(j.klass for j in Response.of(view).all(TODAY)) == example.classes
    found = proposed(built)
    assert found.word == example.word
    dose = found.dose
    printed = None if dose is None else (dose.sets, dose.reps, dose.load, dose.band)
    assert printed == (read(example.out) if example.out else None)
    told = f"{found.reason}; {found.condition}"
    for words in example.said:
        assert words in told


def test_every_example_of_the_note_is_here() -> None:
    assert [e.number for e in EXAMPLES] == list(range(1, 20))
