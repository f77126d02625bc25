"""What one cell says: a number on its scale, an absence, nothing, or why it cannot be read. No guesses.

Every reader gives what was read, None for a cell that tells nothing, or the reason as :class:`Unread`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from armrise.store.entries.words import shown
from armrise.store.exchange.sheets.files.table import Cell, decimal_of, squeezed, text_of
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import BACK_LEVELS
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import plain


class Told(NamedTuple):
    """What was read. ``differs``: it is not what stands there to the letter, so the dry run shows both."""

    value: Any
    differs: bool = False


class Unread(NamedTuple):
    """Why a cell cannot be read; follows the quoted value: "holds two values"."""

    why: str


Reading = Told | Unread | None

NOTHING = ("", "-", "–", "—", "--", ".", "..", "?", "…")
"""What stands in a cell in which nothing is told."""
ABSENT: Mapping[str, Absence] = {
    "not measured": Absence.NOT_MEASURED,
    "not tested": Absence.NOT_MEASURED,
    "not done": Absence.NOT_MEASURED,
    "nm": Absence.NOT_MEASURED,
    "not asked": Absence.NOT_ASKED,
    "declined": Absence.DECLINED,
    "refused": Absence.DECLINED,
    "prohibited": Absence.PROHIBITED,
    "not allowed": Absence.PROHIBITED,
    "contraindicated": Absence.PROHIBITED,
}
"""Words for an absence; each is one of the four of the record, and none of them is zero."""
NOT_AVAILABLE = ("n/a", "na", "n.a.", "n.a", "not available", "not applicable", "#n/a")
"""Not there: not measured where a hand measures, not asked where the patient tells."""
ERRORS = ("#ref!", "#value!", "#div/0!", "#name?", "#null!", "#num!")

DEGREES = ("°", "º", "˚", "deg", "degs", "deg.", "degree", "degrees")
UNITS: Mapping[str, tuple[str, ...]] = {
    "degrees": DEGREES,
    "kg": ("kg", "kgs", "kg.", "kilogram", "kilograms"),
    "percent": ("%", "percent", "per cent"),
    "grade": (),
    "points": (),
    "nights": ("nights", "night", "nights a week"),
    "days": ("days", "day", "d"),
    "times": ("times", "time", "x"),
    "level": (),
    "years": ("years", "year", "yrs", "yr", "y", "yo"),
}
"""What may stand behind a number of each unit."""

_NUMBER = re.compile(r"([+\-−]?(?!0\d\d)\d{1,7}(?:[.,]\d{1,9})?)\s*(.*)", re.ASCII | re.DOTALL)
_OF = re.compile(r"(?:/|of|out of)\s*(\d{1,4})", re.ASCII)
_TWO = re.compile(
    r"[+\-−]?\d+(?:[.,]\d+)?\s*(?:-|–|—|/|to|or|and|bis|\s)\s*[+\-−]?\d+(?:[.,]\d+)?\D*", re.ASCII
)
_ABOUT = re.compile(
    r"(?:[<>≤≥~≈±+]|c\.?a?\.|ca\b|about|approx|over|under|above|below|circa).*\d|\d.*[+<>?~]$"
)
_FORMULA = "=+@"


class Scale(NamedTuple):
    """Between what a number lies, how many decimals it may have, in which unit, and whose it is."""

    low: Decimal
    high: Decimal
    places: int
    unit: str
    what: str
    not_there: Absence | None = None
    """What "n/a" says here; None where an absence has no place in the record."""

    @property
    def of(self) -> int | None:
        """The number that "7/10" may end in: the top of a scale that begins at 0."""
        whole = self.high == self.high.to_integral_value()
        return int(self.high) if self.low == 0 and whole and self.unit in _OUT_OF else None

    @property
    def allowed(self) -> str:
        """From where to where, in words."""
        return f"allowed for {self.what} is {plain(self.low)} to {plain(self.high)}"


_OUT_OF = ("points", "grade", "nights", "percent")


def nothing(cell: Cell) -> bool:
    """True for a cell in which nothing is told."""
    return isinstance(cell, str) and squeezed(cell) in NOTHING


def absence(text: str, not_there: Absence | None) -> Absence | Unread | None:
    """The absence a text names, or why it has no place here; None for any other text."""
    word = squeezed(text).casefold()
    found = not_there if word in NOT_AVAILABLE and word != "#n/a" else ABSENT.get(word)
    if (word in NOT_AVAILABLE and not_there is None) or word == "#n/a":
        return Unread("is no value, leave the cell empty")
    if found is not None and not_there is None:
        return Unread("is no value, leave the cell empty")
    return found


def number(cell: Cell, scale: Scale) -> Reading:
    """A number on its scale, an :class:`Absence`, nothing, or why it is neither."""
    if isinstance(cell, (int, float)):
        return _on(decimal_of(cell), scale, differs=False)
    if not isinstance(cell, str):
        return _no_number(cell)
    text = squeezed(cell)
    if text in NOTHING:
        return None
    gone = absence(text, scale.not_there)
    if gone is not None:
        return gone if isinstance(gone, Unread) else Told(gone, gone.value != text)
    match = _NUMBER.fullmatch(text.casefold())
    rest = match[2] if match else ""
    if match is None or not _may_follow(rest, scale):
        return Unread(_why_not(text, scale))
    value = _decimal(match[1])
    if value is None:
        return Unread("could be thousands or decimals: write it without a sign between the digits")
    return _on(value, scale, differs=match[1] != text)


def _decimal(digits: str) -> Decimal | None:
    """The number; None where the sign in it may part thousands as well as decimals."""
    head, sign, tail = digits.replace("−", "-").replace(",", ".").partition(".")
    if sign and len(tail) == 3 and head.lstrip("+-") not in ("0", ""):
        return None
    return Decimal(head + sign + tail)


def _may_follow(rest: str, scale: Scale) -> bool:
    if not rest or rest in UNITS[scale.unit]:
        return True
    if rest in UNITS["percent"]:
        return scale.low == 0 and scale.high == 100
    of = _OF.fullmatch(rest)
    return of is not None and scale.of is not None and of[1] == str(scale.of)


def _on(value: Decimal, scale: Scale, *, differs: bool) -> Reading:
    value = value + 0  # a minus before nought is no value of its own
    if not scale.low <= value <= scale.high:
        return Unread(f"is out of range, {scale.allowed}")
    if value != round(value, scale.places):
        if scale.places:
            return Unread(f"has more than {scale.places} decimals")
        return Unread(f"is no whole number, {scale.allowed}")
    return Told(
        round(value, scale.places) if value != value.to_integral_value() else value.quantize(Decimal(1)),
        differs,
    )


def _why_not(text: str, scale: Scale) -> str:
    word = text.casefold()
    if word in ERRORS:
        return "is an error of the spreadsheet, correct the formula"
    if text[0] in _FORMULA and len(text) > 1 and not text[1:].replace(".", "").isdigit():
        return "is a formula and not its result, save the values"
    of = re.fullmatch(r"[\d.,]+\s*(?:/|of|out of)\s*([\d.,]+)", word, re.ASCII)
    if of and scale.of is not None:
        return f"is of {of[1]}, and {scale.what} is of {scale.of}"
    if of:
        return f"is a number of another, and {scale.what} is one number"
    if _TWO.fullmatch(word):
        return "holds two values, write the one that counts"
    if _ABOUT.search(word):
        return "is no exact value, write the number that was seen"
    found = _NUMBER.fullmatch(word)
    if found and found[2].strip():
        return f"has {shown(found[2].strip())} beside the number, {scale.allowed}"
    return f"is no number, {scale.allowed}"


def _no_number(cell: date | time | timedelta) -> Unread:
    if isinstance(cell, (datetime, date)):
        return Unread(
            'is a date: the spreadsheet may have made one of "7/10" or "6-7", write it again as text'
        )
    return Unread("is a time: the spreadsheet may have made one of a number, write it again as text")


def level(cell: Cell, scale: Scale) -> Reading:
    """How high the thumb reaches behind the back: a level by its name, or its number here."""
    if isinstance(cell, str):
        word = squeezed(cell).casefold().replace(" ", "")
        word = re.sub(r"^([lt])0(\d)$", r"\1\2", word)
        names = [name.casefold() for name in BACK_LEVELS]
        if word in names:
            return Told(Decimal(names.index(word)))
        if not nothing(cell) and absence(cell, scale.not_there) is None and not word.isdigit():
            return Unread("is no level, allowed is trochanter, buttock, sacrum, L5 to L1, T12 to T1")
    read = number(cell, scale)
    if isinstance(read, Told) and not isinstance(read.value, Absence):
        return Unread("is a number and no level, allowed is trochanter, buttock, sacrum, L5 to L1, T12 to T1")
    return read


def said(value: Any) -> str:
    """What was read, as it is shown beside the cell."""
    if isinstance(value, Absence):
        return value.value
    if isinstance(value, Decimal):
        return plain(value)
    return (
        value.isoformat()
        if isinstance(value, date)
        else text_of(value)
        if isinstance(value, str)
        else str(value)
    )
