"""Whether an entry that was read back holds what its fields may hold: the rules of writing, asked again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from armrise.store.entries.build import COMMON, Reader, field_rules
from armrise.store.entries.values import RefusalError
from armrise.store.record.fields import Children, Rule
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import DoneItem


def unfit_fields(entry: Entry) -> list[str]:
    """The names of the fields whose value their rule does not allow; of a part as "items 2 load"."""
    reader = Reader("", "", entry.on)
    stated = [(name, rule) for name, rule in COMMON.items() if getattr(entry, name) != ""]
    common = [name for name, rule in stated if not _allows(reader, rule, getattr(entry, name))]
    return [*common, *_unfit(reader, entry)]


def _unfit(reader: Reader, part: Entry | DoneItem) -> Iterator[str]:
    for spec in field_rules(type(part)):
        value = getattr(part, spec.name)
        if value == spec.default and not spec.required:
            continue
        if not _allows(reader, spec.rule, value):
            yield spec.name
        elif isinstance(spec.rule, Children):
            for place, child in enumerate(value, 1):
                yield from (f"{spec.name} {place} {name}" for name in _unfit(reader, child))


def _allows(reader: Reader, rule: Rule, value: Any) -> bool:
    try:
        reader.value(rule, value, "")
    except (RefusalError, ArithmeticError, TypeError, ValueError):  # of what no program of ours wrote
        return False
    return True
