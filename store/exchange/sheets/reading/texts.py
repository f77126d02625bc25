"""Cells that hold words of a closed list: a side, a pathway, a hand, an age; and codes of cases."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal

from armrise.store.entries.build import CODE_ALLOWED, is_code
from armrise.store.entries.words import quoted
from armrise.store.exchange.sheets.files.table import Cell, text_of
from armrise.store.exchange.sheets.reading.cells import (
    NOT_AVAILABLE,
    Reading,
    Scale,
    Told,
    Unread,
    absence,
    nothing,
    number,
)
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import AGE_BANDS, HANDS
from armrise.store.rules.pathway import Rules

_SIDE = re.compile(r"(l|lt|left|lhs|r|rt|right|rhs)\.?(?: (?:shoulder|side|arm))?")
_BOTH = ("both", "b", "bilateral", "b/l", "l/r", "r/l", "l+r", "l&r", "lr", "rl", "l and r", "left and right")
_AGE = Scale(Decimal(0), Decimal(120), 0, "years", "an age in years")
_DECADE = re.compile(r"(\d)0'?s", re.ASCII)
_DIGIT = re.compile(r"\d", re.ASCII)
_WITH_STAGE = re.compile(r"([A-Za-z]+) ?-?(\d)", re.ASCII)


def without(cell: Cell) -> bool:
    """True for a cell that tells nothing, or says that there is nothing to tell."""
    return nothing(cell) or text_of(cell).casefold() in NOT_AVAILABLE


def side(cell: Cell) -> Reading:
    """LEFT or RIGHT, from a word or a letter."""
    if without(cell):
        return None
    word = text_of(cell).casefold()
    if match := _SIDE.fullmatch(word):
        return Told("LEFT" if match[1].startswith("l") else "RIGHT")
    if word in _BOTH:
        return Unread("is two shoulders: each has a row and a code of its own")
    return Unread("is no side, allowed is left or right, L or R")


def hand(cell: Cell) -> Reading:
    """The preferred hand."""
    if without(cell) or absence(text_of(cell), Absence.NOT_ASKED) is not None:
        return None
    word = text_of(cell).casefold().removesuffix(" handed").removesuffix("-handed").removesuffix(" hand")
    found = {"l": "left", "lt": "left", "r": "right", "rt": "right", "ambidextrous": "both"}.get(word, word)
    return Told(found) if found in HANDS else Unread(f"is no hand, allowed is {quoted(HANDS)}, L or R")


def age(cell: Cell) -> Reading:
    """The age band, from the band or from an age in years."""
    if without(cell) or absence(text_of(cell), Absence.NOT_ASKED) is not None:
        return None
    word = text_of(cell).casefold()
    if word in AGE_BANDS:
        return Told(word)
    if match := _DECADE.fullmatch(word):
        band = f"{match[1]}0s"
        if band in AGE_BANDS:
            return Told(band)
    read = number(cell, _AGE)
    if not isinstance(read, Told):
        return Unread(f"is no age, allowed is a number of years or one of {quoted(AGE_BANDS)}")
    return Told(band_of(int(read.value)))


def band_of(years: int) -> str:
    """The age band of so many years."""
    for most, band in ((15, "under 16"), (17, "16-17"), (19, "18-19")):
        if years <= most:
            return band
    return "90 or over" if years >= 90 else f"{years // 10}0s"


def pathway(rules: Rules) -> Callable[[Cell], Reading]:
    """What reads a pathway of the rules: its code in any case, or its name."""
    names = {code.casefold(): code for code in rules.pathways}
    names |= {one.name.casefold(): code for code, one in rules.pathways.items()}
    known = ", ".join(f"{code} ({one.name})" for code, one in rules.pathways.items())

    def read(cell: Cell) -> Reading:
        if without(cell):
            return None
        word = text_of(cell)
        code = names.get(word.casefold())
        if code:
            return Told(code, differs=word != code and word.casefold() != code.casefold())
        return Unread(f"is no pathway of the rules, allowed is {known}")

    return read


def stage(rules: Rules) -> Callable[[Cell], Reading]:
    """What reads a stage: its code in any case and with a blank, or its number (a whole number is given)."""
    codes = {stage.code.casefold(): stage.code for one in rules.pathways.values() for stage in one.stages}

    def read(cell: Cell) -> Reading:
        if without(cell):
            return None
        word = text_of(cell)
        if word.isdigit() and word.isascii() and len(word) == 1:
            return Told(int(word))
        match = _WITH_STAGE.fullmatch(word)
        code = codes.get(f"{match[1]}{match[2]}".casefold()) if match else None
        if code:
            return Told(code, differs=word.casefold() != code.casefold())
        return Unread(f"is no stage of the rules, allowed is {', '.join(codes.values())}, or its number")

    return read


def code(cell: Cell) -> Reading:
    """The code of a case or a person, as it stands."""
    if nothing(cell):
        return None
    text = text_of(cell)
    if not is_code(text):
        return Unread(f"is no code, allowed is {CODE_ALLOWED}")
    return Told(text)


def may_be_a_name(text: str) -> bool:
    """True for a new code without a digit: it may be the name of somebody, which is never taken."""
    return _DIGIT.search(text) is None


def phrase(longest: int) -> Callable[[Cell], Reading]:
    """What reads a short text on one line."""

    def read(cell: Cell) -> Reading:
        if without(cell):
            return None
        text = text_of(cell)
        if len(text) > longest:
            return Unread(f"has {len(text)} characters, allowed is at most {longest}")
        return Told(text) if text.isprintable() else Unread("holds a sign that cannot be printed")

    return read


def clock(cell: Cell) -> Reading:
    """A time of day as "09:30"."""
    if without(cell):
        return None
    text = text_of(cell)
    match = re.fullmatch(r"([01]?\d|2[0-3])[:.]([0-5]\d)(?::00)?", text, re.ASCII)
    return Told(f"{int(match[1]):02}:{match[2]}") if match else Unread("is no time of day, allowed is 09:30")


_WHOLE = ("whole", "all", "full", "whole dose", "all done", "complete")
_PART = ("part", "some", "part of the dose", "partly", "half")
_NONE = ("none", "no", "rest", "rest day", "not done", "0")


def dose(cell: Cell) -> Reading:
    """How much of the dose was done: "whole", "part", or "none" for a day of rest."""
    if without(cell) or absence(text_of(cell), Absence.NOT_ASKED) in (Absence.NOT_ASKED, Absence.DECLINED):
        return None
    text = text_of(cell).casefold()
    for words, told in ((_WHOLE, "whole"), (_PART, "part"), (_NONE, "none")):
        if text in words:
            return Told(told)
    if match := re.fullmatch(r"(\d{1,2}) ?(?:/|of) ?(\d{1,2})", text, re.ASCII):
        done, asked = int(match[1]), int(match[2])
        if asked and done <= asked:
            return Told("whole" if done == asked else "part" if done else "none")
        return Unread("has more sets done than asked for")
    if text.isdigit():
        return Unread('does not say of how many: write "3/3", whole, part or none')
    return Unread('is no dose, allowed is whole, part, none, or sets such as "2/3"')


WORDS: Mapping[str, Callable[[Cell], Reading]] = {
    "side": side,
    "hand": hand,
    "age": age,
    "code": code,
    "clock": clock,
    "dose": dose,
}
"""The readers that need nothing but the cell."""
