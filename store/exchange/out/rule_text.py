"""The rules as plain text and as plain data: every number with its meaning, unit, source and status."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from armrise.store.exchange.out.plain_text import wrapped
from armrise.store.rules.figure import MEMORY
from armrise.store.rules.pathway import Rules
from armrise.store.rules.rows import RuleRow, counted, counted_words


def as_text(rules: Rules, every: Sequence[RuleRow], chosen: Sequence[RuleRow], versions: str = "") -> str:
    """The chosen statements under their headings; ``every`` gives the counts above them."""
    return "\n".join(_text(rules, every, chosen, versions)) + "\n"


def head(rules: Rules, every: Sequence[RuleRow]) -> Iterator[str]:
    """Version, sign-off, where the rules lie, and how many statements there are of each status."""
    yield f"Rules version {rules.version}, {rules.sign_off}"
    if rules.origin:
        yield rules.origin
    yield counted_words(every)


def _text(rules: Rules, every: Sequence[RuleRow], chosen: Sequence[RuleRow], versions: str) -> Iterator[str]:
    for line in (*head(rules, every), versions):
        yield from wrapped(line, "") if line else ()
    title = ""
    for row in chosen:
        if row.head != title:
            title = row.head
            yield ""
            yield from wrapped(title.upper() if len(row.place) == 1 else title, "")
        yield from wrapped(row_line(row), "  ", "      ")


def row_line(row: RuleRow) -> str:
    """A statement in one line: its name, what it says, what it means, where it comes from."""
    meaning = f" ({row.meaning})" if row.meaning else ""
    trust = f" [{trust_words(row)}]" if row.status else ""
    return f"{row.name}: {row.stated}{meaning}{trust}"


def trust_words(row: RuleRow) -> str:
    """The source with the status, said once where both are the same; a number from memory says so first."""
    if row.source.casefold() == row.status:
        return row.status
    if row.status == MEMORY:
        told = row.source.removeprefix(MEMORY).lstrip(":;, ")
        return f"{MEMORY}; {told}"
    return f"{row.source}; {row.status}"


def as_json(rules: Rules, every: Sequence[RuleRow], chosen: Sequence[RuleRow]) -> dict[str, Any]:
    """The same as plain data."""
    return {
        "version": rules.version,
        "signed_off": rules.sign_off,
        "signed_by": rules.signed_by or None,
        "signed_on": rules.signed_on.isoformat() if rules.signed_on else None,
        "origin": rules.origin,
        "counts": dict(counted(every)),
        "rules": [
            {
                "place": list(row.place),
                "heading": row.head,
                "name": row.name,
                "value": row.value,
                "unit": row.unit or None,
                "meaning": row.meaning or None,
                "source": row.source or None,
                "status": row.status or None,
            }
            for row in chosen
        ],
    }
