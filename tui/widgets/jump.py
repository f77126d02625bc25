"""A case by the number of its code: the digits typed so far, and which case they mean. Pure.

The number of "BY-027" is 027. Digits mean a case by its whole number first, "27" as well as "027", then by
what its number contains. One digit alone means no case: it is the beginning of a number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

ENOUGH = 2
"""Digits from which on a case is meant."""
DIGITS = "0123456789"
_NUMBER = re.compile(r"\d+(?=\D*$)")


@lru_cache(maxsize=10_000)
def number_of(code: str) -> str:
    """The digits a code ends in, or those last in it; "" for a code without any."""
    before = code.rstrip(DIGITS)
    if len(before) < len(code) and not before[-1:].isdecimal():  # nearly every code
        return code[len(before) :]
    found = _NUMBER.search(code)
    return found[0] if found else ""


def is_number(code: str, digits: str) -> bool:
    """True when ``digits`` are the whole number of the code, with whatever zeros before it."""
    number = number_of(code)
    return bool(number) and number.lstrip("0") == digits.lstrip("0")


def has(code: str, digits: str) -> bool:
    """True when the number of the code has ``digits`` in it, with or without zeros before it."""
    return digits in number_of(code) or (digits[:1] == "0" and is_number(code, digits))


def found(codes: Iterable[str], digits: str) -> list[str]:
    """The codes whose number has ``digits`` in it, the best first: whole number, its end, anywhere in it."""
    return sorted((code for code in codes if has(code, digits)), key=lambda code: _worse(code, digits))


def best(codes: Iterable[str], digits: str) -> str:
    """The first of :func:`found`; "" where there is none."""
    return min((c for c in codes if has(c, digits)), key=lambda code: _worse(code, digits), default="")


def _worse(code: str, digits: str) -> tuple[bool, bool]:
    return not is_number(code, digits), not number_of(code).endswith(digits)


def meant(codes: Sequence[str], digits: str) -> str:
    """The one case that ``digits`` mean; "" while there is none, or more than one to choose from."""
    return _only(found(codes, digits), digits) if len(digits) >= ENOUGH else ""


def _only(having: Sequence[str], digits: str) -> str:
    whole = [code for code in having if is_number(code, digits)]
    only = whole if whole else having
    return only[0] if len(only) == 1 else ""


def words(digits: str, heads: Sequence[tuple[str, str]], *, refused: bool = False) -> str:
    """What the foot says of the digits typed: which of ``heads``, code and side, they mean, and what next.

    ``refused``: Enter was pressed and opened nothing.
    """
    prompt = f"go to: {digits}_"
    if len(digits) < ENOUGH:
        return f"{prompt}  type on  Esc back"
    sides = dict(heads)
    having = found(sides, digits)
    one = _only(having, digits)
    if not having:
        return f"{prompt}  no case on the list has it  Esc back"
    if one:
        others = f"  {len(having) - 1} more" if len(having) > 1 else ""
        return (
            f"{prompt}  {'1 match: ' if not others else ''}{one} {sides[one]}{others}  Enter opens  Esc back"
        )
    if refused:
        return f"{prompt}  {len(having)} matches, none opened: type on or move to one"
    return f"{prompt}  {len(having)} matches: type on, or move to one  Esc back"
