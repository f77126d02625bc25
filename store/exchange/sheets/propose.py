"""What the heading of a column says by itself. A heading that may mean two things proposes neither."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from armrise.store.exchange.sheets import meanings as m
from armrise.store.exchange.sheets.files.table import squeezed
from armrise.store.exchange.sheets.meanings import Meaning
from armrise.store.record.light import NamedTuple


class Proposal(NamedTuple):
    """What a column is proposed to mean, None for nothing, and what there is to say of it."""

    meaning: Meaning | None
    why: str = ""
    personal: bool = False
    """The column names people: it can be given no meaning."""


WHICH_PAIN = "which pain: worst, at rest, at night, during exercise, later, next morning?"


@cache
def vocabulary() -> dict[str, Any]:
    """What headings say, by the file that holds it."""
    with Path(__file__).with_name("headings.toml").open("rb") as file:
        return tomllib.load(file)


_SCALE = re.compile(
    r"(?:0|1)\s*(?:-|–|to)\s*(\d{2,4})|(?:/|out of|of)\s*(\d{2,4})\b|\b(\d{2})\s*(?:-|–|to)\s*(\d{2})\b",
    re.ASCII,
)
_UNIT = re.compile(
    r"(?<![a-z])(kg|kgs|lb|lbs|newton|newtons|n|mm|cm|%|percent|per cent|grade|mmt|mrc|nm)(?![a-z])"
)


def words_in(heading: str) -> list[str]:
    """The words of a heading that say what it means, each in one spelling."""
    text = squeezed(heading).casefold().replace("quick dash", "quickdash").replace("@", " at ")
    text = re.sub(r"\(s\)", "s", text)
    same: dict[str, str] = vocabulary()["same"]
    found: list[str] = []
    for word in re.findall(r"[a-z]+|\d+|#", re.sub(r"[-_/]", " ", text)):
        found.extend(str(same.get(word, word)).split())
    return found


def proposed(heading: str) -> Proposal:
    """What a heading is proposed to mean."""
    return _proposed(squeezed(heading))


@cache
def _proposed(heading: str) -> Proposal:
    every = words_in(heading)
    key = _key(word for word in every if not word.isdigit())
    people, staff, free = (set(vocabulary()[name]) for name in ("people", "staff", "free_text"))
    if people & set(every) and ("patient" in every or not staff & set(every)):
        return Proposal(None, m.PERSONAL, personal=True)
    if free & set(every):
        return Proposal(None, "free text may name somebody: left out")
    if not key and frozenset(every) in _known_bare():
        return Proposal(m.meanings()[_known_bare()[frozenset(every)]])
    if not key:
        return Proposal(None, WHICH_PAIN if {"vas", "nrs", "nprs"} & set(every) else "")
    if key in _known():
        return _on_its_scale(m.meanings()[_known()[key]], heading)
    if meaning := _measure(key, heading):
        return _on_its_scale(meaning, heading)
    if key in _doubts():
        return Proposal(None, _doubts()[key])
    return Proposal(None, "strength in kg, in per cent or in grades?" if "strength" in key else "")


@cache
def _noise() -> frozenset[str]:
    return frozenset(vocabulary()["noise"])


def _key(words: Iterable[str]) -> frozenset[str]:
    return frozenset(words) - _noise()


@cache
def _known() -> dict[frozenset[str], str]:
    told: dict[str, list[str]] = vocabulary()["meanings"]
    known = {
        _key(words_in(one)): name
        for name, headings in told.items()
        for one in headings
        if _key(words_in(one))
    }
    scores = (name for name, one in m.meanings().items() if one.kind == m.SCORE and not one.formula)
    return {_key(words_in(name)): name for name in scores} | known


@cache
def _known_bare() -> dict[frozenset[str], str]:
    """Headings made of nothing but words that tell nothing beside others, such as "shoulder"."""
    told: dict[str, list[str]] = vocabulary()["meanings"]
    bare = ((frozenset(words_in(one)), name) for name, headings in told.items() for one in headings)
    return {words: name for words, name in bare if not _key(words)}


@cache
def _doubts() -> dict[frozenset[str], str]:
    told: dict[str, list[str]] = vocabulary()["doubts"]
    return {_key(words_in(one)): why for why, headings in told.items() for one in headings}


def _measure(key: frozenset[str], heading: str) -> Meaning | None:
    """A range or a strength: its movement, how, and of which side."""
    sides = key & {"other", "left", "right"}
    if len(sides) > 1:
        return None
    side = next(iter(sides), "")
    behind = m.SIDES[{"left": "LEFT", "right": "RIGHT"}.get(side, side)]
    words = key - sides - {"side", "forward"} - set(UNITS)
    unit = UNITS.get(_unit_in(heading)) if "strength" in words else ""
    if unit is None:
        return None
    for name in m.MEASURES:
        if name not in m.ONE_SIDED and words == _key(m.words_of(name).split()) - {"forward"}:
            return m.meanings().get(f"{m.words_of(name)}{f' {unit}' if unit else ''}{behind}")
    return None


UNITS = {
    "kg": "in kg",
    "kgs": "in kg",
    "%": "in per cent of the other side",
    "percent": "in per cent of the other side",
    "grade": "in grades 0 to 5",
    "mmt": "in grades 0 to 5",
    "mrc": "in grades 0 to 5",
}


def _unit_in(heading: str) -> str:
    found = _UNIT.findall(heading.casefold())
    return found[-1] if found else ""


def scales_in(heading: str) -> Iterator[tuple[int, int]]:
    """The scales that a heading names: "0-10", "/100", "12-60"."""
    for match in _SCALE.finditer(heading.casefold()):
        if match[1] or match[2]:
            yield 0, int(match[1] or match[2])
        else:
            yield int(match[3]), int(match[4])


def _on_its_scale(meaning: Meaning, heading: str) -> Proposal:
    """The meaning, unless the heading names another scale or unit than what it is kept in."""
    scales, unit = list(scales_in(heading)), _unit_in(heading)
    if meaning.field in ("OSS", "OSIS") and (12, 60) in scales:
        return Proposal(m.meanings()[f"{meaning.name}, old form 12 to 60"])
    if meaning.reads == "pain" or meaning.field in ("worst_pain", "rest_pain", "night_pain"):
        other = [high for _, high in scales if high != 10]
        if other or unit in ("mm", "cm", "%"):
            return Proposal(None, "pain is kept 0 to 10, and the heading says another scale")
    if unit in ("lb", "lbs", "n", "newton", "newtons", "nm") and "strength" in meaning.field:
        return Proposal(None, "strength is kept in kg, in per cent of the other side or in grades")
    return Proposal(meaning)
