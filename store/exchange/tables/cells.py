"""What a cell may hold as text, from the rule beside the field it comes from."""

from __future__ import annotations

import re
from collections.abc import Sequence

from armrise.store.entries.words import ABSENCE_WORDS
from armrise.store.exchange.out.schema import Schema, words
from armrise.store.exchange.tables.table import NO, YES
from armrise.store.record.fields import Choice, ClockTime, Day, Flag, Number, Rule, Whole

# What a dot and a dollar mean to a validator differs between languages: the end is said outright.
_END = r"(?![\s\S])"
_NUMBER = r"-?[0-9]+"
_DAY = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_OFFSET = r"(Z|[+-][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?)"
INSTANT: Schema = {
    "type": "string",
    "pattern": rf"^{_DAY}T[0-9]{{2}}:[0-9]{{2}}:[0-9]{{2}}(\.[0-9]+)?{_OFFSET}{_END}",
}
"""An instant with its offset."""
ANY: Schema = {"type": "string"}


def matching(pattern: str, *, empty: bool = False, also: Sequence[str] = ()) -> Schema:
    """Text of this pattern, one of these words, or nothing where that is allowed."""
    alternatives = "|".join([pattern, *map(re.escape, also), *([""] if empty else [])])
    return {"type": "string", "pattern": f"^({alternatives}){_END}"}


def whole(*, empty: bool = False) -> Schema:
    """A whole number."""
    return matching(_NUMBER, empty=empty)


def number(*, empty: bool = False) -> Schema:
    """A number with a decimal point, never a comma."""
    return matching(rf"{_NUMBER}(\.[0-9]+)?", empty=empty)


def day(*, empty: bool = False) -> Schema:
    """An ISO date."""
    return matching(_DAY, empty=empty)


def yes_or_no(*, empty: bool = False) -> Schema:
    """Yes or no."""
    return words((YES, NO, *([""] if empty else [])))


def of_rule(rule: Rule, needed: bool) -> Schema:
    """What a cell of a field with this rule may hold; empty where it need not be stated."""
    empty = not needed
    match rule:
        case Choice():
            return words((*rule.words, *([""] if empty and "" not in rule.words else [])))
        case Flag():
            return yes_or_no(empty=empty)
        case Day():
            return day(empty=empty)
        case ClockTime():
            return matching(r"[0-2][0-9]:[0-5][0-9]", empty=empty)
        case Whole():
            return matching(_NUMBER, empty=empty, also=ABSENCE_WORDS if rule.absent else ())
        case Number():
            number_ = rf"{_NUMBER}(\.[0-9]+)?"
            return matching(number_, empty=empty, also=ABSENCE_WORDS if rule.absent else ())
        case _:
            return ANY
