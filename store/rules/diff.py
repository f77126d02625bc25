"""What differs between two versions of the rules, in plain lines: numbers, criteria, words and sources."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from armrise.store.rules.pathway import Rules
from armrise.store.rules.rows import RANKS, TO_DO, RuleRow, rows

Key = tuple[tuple[str, ...], str, str]


def difference(old: Rules, new: Rules) -> tuple[str, ...]:
    """Every difference in the order of the files; none between two versions that say the same."""
    before, after = rows(old), rows(new)
    whole, gone = _whole(old, new)
    kept_before = [row for row in before if not gone.intersection(row.place)]
    kept_after = [row for row in after if not gone.intersection(row.place)]
    return (*whole, *_changes(kept_before, kept_after), *_orders(kept_before, kept_after))


def _whole(old: Rules, new: Rules) -> tuple[list[str], set[str]]:
    """Pathways and stages that came or went as a whole, as lines, and their codes."""
    lines: list[str] = []
    gone: set[str] = set()
    for verb, here, there in (("removed", old, new), ("added", new, old)):
        for code, pathway in here.pathways.items():
            other = there.pathways.get(code)
            if other is None:
                lines.append(f"{code} {pathway.name}: pathway {verb}")
                gone.add(code)
                continue
            for stage in pathway.stages:
                if other.stage(stage.code) is None:
                    lines.append(f"{stage.code} {stage.name}: stage {verb}")
                    gone.add(stage.code)
    return lines, gone


def _key(row: RuleRow) -> Key:
    return (row.place, "" if row.place in (RANKS, TO_DO) else row.name, row.subject)


def _changes(before: Sequence[RuleRow], after: Sequence[RuleRow]) -> Iterator[str]:
    old, new = _grouped(before), _grouped(after)
    for key in dict.fromkeys([*old, *new]):
        left, right = _unlike(old.get(key, []), new.get(key, []))
        for one, two in zip_longest(left, right):
            yield _line(one, two)


def _grouped(every: Sequence[RuleRow]) -> dict[Key, list[RuleRow]]:
    found: defaultdict[Key, list[RuleRow]] = defaultdict(list)
    for row in every:
        found[_key(row)].append(row)
    return found


def _unlike(old: Sequence[RuleRow], new: Sequence[RuleRow]) -> tuple[list[RuleRow], list[RuleRow]]:
    """The rows that have no equal on the other side, each equal taken once. A heading is no statement."""
    left, right = list(old), list(new)
    for row in old:
        same = next((other for other in right if _said(other) == _said(row)), None)
        if same is not None:
            left.remove(row)
            right.remove(same)
    return left, right


def _said(row: RuleRow) -> tuple[str, ...]:
    name = "" if row.place == TO_DO else row.name  # the name of a reason is that of its rank
    return (name, row.value, row.unit, row.meaning, row.source, row.status)


def _line(old: RuleRow | None, new: RuleRow | None) -> str:
    if old is None or new is None:
        row, verb = (new, "added") if old is None else (old, "removed")
        assert row is not None
        return f"{_where(row)}: {verb}, {_quoted(row)}{_trust(row)}"
    if _is_number(old) and _is_number(new):
        moved = old.value if old.value == new.value else f"{old.value} -> {new.value}"
        return f"{_where(new)}: {moved}{_trusts(old, new)}"
    if old.value == new.value and old.name == new.name:
        asked = "" if old.meaning == new.meaning else f": {old.meaning} -> {new.meaning}"
        return f"{_where(new)}: {_quoted(new)}{asked}{_trusts(old, new)}"
    asked = f" ({old.meaning} -> {new.meaning})" if old.meaning != new.meaning else ""
    renamed = f'"{old.name}" -> "{new.name}", ' if old.name != new.name else ""
    return f"{_where(new)}: {renamed}{_quoted(old)} -> {_quoted(new)}{asked}{_trusts(old, new)}"


def _where(row: RuleRow) -> str:
    return f"{row.place[-1]}, {row.name}{f' {row.unit}' if row.unit else ''}"


def _is_number(row: RuleRow) -> bool:
    return bool(row.status) and not row.subject and row.value.replace(".", "").lstrip("-").isdecimal()


def _quoted(row: RuleRow) -> str:
    return row.value if _is_number(row) else f'"{row.value}"'


def _trust(row: RuleRow) -> str:
    if not row.status:
        return ""
    return f" ({row.status})" if row.source == row.status else f" ({row.status}; source: {row.source})"


def _trusts(old: RuleRow, new: RuleRow) -> str:
    status = f" ({old.status} -> {new.status})" if old.status != new.status else ""
    named = old.source != new.source and (old.source, new.source) != (old.status, new.status)
    return f'{status}; source "{old.source}" -> "{new.source}"' if named else status


def _orders(before: Sequence[RuleRow], after: Sequence[RuleRow]) -> Iterator[str]:
    """Lists that hold the same statements in another order: criteria print in the order of the file."""
    for place, name in dict.fromkeys((row.place, row.name) for row in before if row.subject):
        old, new = (
            [row.subject for row in side if (row.place, row.name) == (place, name)]
            for side in (before, after)
        )
        common = set(old) & set(new)
        left, right = ([s for s in side if s in common] for side in (old, new))
        if left != right and sorted(left) == sorted(right) and place != RANKS:
            yield f"{place[-1]}, {name}: in another order"
