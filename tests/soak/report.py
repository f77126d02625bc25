"""What was done and what was wrong, as the tables that stand in the README."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tests.soak.batches import Part
from tests.soak.tally import Counted, Tally


def tables(tally: Tally, cut_short: Iterable[Part], others: Iterable[Part]) -> str:
    """One of work that was ``cut_short`` in several ways, one of all else."""
    return "\n".join(filter(None, (_cut_short(tally, list(cut_short)), _others(tally, others))))


def _cut_short(tally: Tally, parts: list[Part]) -> str:
    kinds = sorted({kind for part in parts for kind in tally.counted.get(part.name, {})})
    if not kinds:
        return ""
    rows = [
        (kind, [tally.counted.get(part.name, {}).get(kind, Counted()) for part in parts]) for kind in kinds
    ]
    lines = [
        f"| work cut short | {' | '.join(part.name for part in parts)} | {parts[0].fault} |",
        f"|---|{'---:|' * len(parts)}---:|",
        *(
            _row(kind, [f"{one.done:,}" for one in each], sum(one.wrong for one in each))
            for kind, each in rows
        ),
        _row(
            "**in all**",
            [f"**{tally.done(part.name):,}**" for part in parts],
            sum(tally.wrong(part.name) for part in parts),
        ),
    ]
    return "\n".join(lines) + "\n"


def _row(kind: str, numbers: list[str], wrong: int) -> str:
    return f"| {kind} | {' | '.join(numbers)} | {wrong} |"


def _others(tally: Tally, parts: Iterable[Part]) -> str:
    rows = [row for part in parts for row in _rows_of(tally, part)]
    head = ["| what | how often | counted as a fault | faults |", "|---|---:|---|---:|"]
    return "\n".join([*head, *rows]) + "\n" if rows else ""


def _rows_of(tally: Tally, part: Part) -> Iterator[str]:
    kinds = sorted(tally.counted.get(part.name, {}).items())
    for kind, one in kinds:
        most = f", another's change seen after {one.most:.1f} s at most" if one.most else ""
        yield f"| {part.name}: {kind}{most} | {one.done:,} | {part.fault} | {one.wrong} |"
    if len(kinds) > 1:
        done, wrong = tally.done(part.name), tally.wrong(part.name)
        yield f"| **{part.name}: in all** | **{done:,}** | | {wrong} |"
