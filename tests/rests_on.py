"""What is computed and what its numbers rest on, for the README: ``python -m tests.rests_on``.

Counted are the numbers of the shipped rule files by their status; named are the published sources, short. In
full, number by number: ``armrise rules show``.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

from armrise.store.rules.figure import STATUSES
from armrise.store.rules.read import load
from armrise.store.rules.rows import RuleRow
from armrise.store.rules.rows import rows as rows_of
from tests.between import put_between

README = Path(__file__).parents[1] / "README.md"
PUBLISHED = STATUSES[0]
NAMED_BY_YEAR = re.compile(r"(?:(?:de|van) )?[A-Z][A-Za-z]*(?: [A-Z][A-Za-z]*)* (?:19|20)\d\d\b")
NAMED_BY_NUMBER = re.compile(r"PMC\d+")


def short(source: str) -> list[str]:
    """How a source is named: author or journal and year, else its number in PubMed Central, else its title.

    >>> short("two observers: de Winter 2004 BMC Musculoskelet Disord 5:18")
    ['de Winter 2004']
    >>> short("UK FROST trial protocol (PMC5741880): rotation under half of the other side")
    ['PMC5741880']
    >>> short("DASH scoring sheet, Institute for Work and Health")
    ['DASH scoring sheet']
    """
    said, _, after = source.partition(": ")
    titled = after if after and not said[0].isupper() else source  # "healing in 12 weeks: public leaflets"
    named = NAMED_BY_YEAR.findall(source) or NAMED_BY_NUMBER.findall(source)
    return named or [re.split(r"[:;,(]", titled)[0].strip()]


def lines() -> Iterator[str]:
    """The table: a row a part of the rules, its numbers by status, its published sources."""
    rules = load()
    names = {code: pathway.name for code, pathway in rules.pathways.items()}
    every = rows_of(rules)
    yield f"| what | {' | '.join(STATUSES)} | published sources |"
    yield f"|---|{'---|' * len(STATUSES)}---|"
    for place in dict.fromkeys(row.place[0] for row in every):
        here = [row for row in every if row.place[0] == place and row.status]
        sources = {name for row in here if row.status == PUBLISHED for name in short(row.source or "")}
        if here:
            yield f"| {names.get(place, place)} | {_counted(here)} | {', '.join(sorted(sources))} |"
    yield f"| in all | {_counted(every)} | |"


def _counted(rows: Iterable[RuleRow]) -> str:
    counts = Counter(row.status for row in rows)
    return " | ".join(str(counts[status] or "") for status in STATUSES)


def table() -> str:
    """All of it, as it stands in the README."""
    return "\n".join([*lines(), ""])


if __name__ == "__main__":
    put_between(README, "rests on", table())
