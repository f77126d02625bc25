"""How a sheet is read: what each column means, which number of a date is the day, what holds for every row.

Proposed by the headings, said in a map file, remembered from the last time; what was said goes before what is
remembered, and that before what is proposed.
"""

from __future__ import annotations

import json
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, cast

from armrise.store.entries.words import shown
from armrise.store.exchange.sheets import meanings as m
from armrise.store.exchange.sheets.files.layout import Heading, Layout, key_of
from armrise.store.exchange.sheets.files.table import SheetRefused, squeezed
from armrise.store.exchange.sheets.meanings import Meaning, meanings, named
from armrise.store.exchange.sheets.propose import proposed
from armrise.store.exchange.sheets.reading.dates import ORDERS
from armrise.store.record.bounded import MB, read_bounded

REMEMBERED = "columns of spreadsheets"
"""Under which name the store remembers what headings mean."""
MOST_REMEMBERED = 2000
ALWAYS = (
    m.CODE,
    m.SIDE,
    m.PATHWAY,
    m.REGISTERED,
    m.DATE,
    m.VISIT,
    "clinician",
    "referrer",
    m.RATER,
)
"""Meanings that can hold for every row of a file."""


@dataclass
class Map:
    """What was said of headings, by their keys: meanings by name, the order of dates; and of every row."""

    columns: dict[str, str] = field(default_factory=dict[str, str])
    dates: dict[str, str] = field(default_factory=dict[str, str])
    always: dict[str, str] = field(default_factory=dict[str, str])

    def over(self, other: Map) -> Map:
        """Both, with what is said here before what is said there."""
        return Map(other.columns | self.columns, other.dates | self.dates, other.always | self.always)


@dataclass(frozen=True, slots=True)
class Column:
    """A column with what it means; ``why`` says where that comes from, or why it means nothing."""

    heading: Heading
    meaning: Meaning | None
    why: str = ""
    personal: bool = False
    order: str = ""
    """Which number of its dates is the day, where somebody said it."""

    @property
    def index(self) -> int:
        """Its place, from 0."""
        return self.heading.index

    @property
    def used(self) -> bool:
        """True where it is read."""
        return self.meaning is not None and self.meaning.kind != m.OUT


PROPOSED, SAID, KEPT = "by its heading", "as told", "as the last time"


def columns_of(layout: Layout, said: Map, kept: Map) -> list[Column]:
    """The columns of a sheet. Two that would mean the same mean nothing until somebody chooses."""
    columns = [_column(heading, said, kept) for heading in layout.headings]
    counted = Counter(one.meaning.name for one in columns if one.used and one.meaning)
    return [
        replace(one, meaning=None, why=f"another column means {one.meaning.name} too: choose one")
        if one.used and one.meaning and counted[one.meaning.name] > 1
        else one
        for one in columns
    ]


def _column(heading: Heading, said: Map, kept: Map) -> Column:
    by_itself = proposed(heading.words)
    order = said.dates.get(heading.key, kept.dates.get(heading.key, ""))
    if by_itself.personal:
        return Column(heading, None, by_itself.why, personal=True)
    for asked, why in ((said, SAID), (kept, KEPT)):
        name = asked.columns.get(heading.key)
        if name is not None and (meaning := named(name)) is not None:
            return Column(heading, meaning, why, order=order)
    why = PROPOSED if by_itself.meaning else by_itself.why
    return Column(heading, by_itself.meaning, why, order=order)


def faults_of(columns: Sequence[Column], always: Mapping[str, str]) -> list[str]:
    """What keeps a sheet from being read at all, each a sentence; nothing for one that can be."""
    there = {one.meaning.name: one.meaning for one in columns if one.used and one.meaning}
    kinds = {one.kind for one in there.values()}
    names = {*there, *always}
    faults: list[str] = []
    if not there:
        return ["No column has a meaning yet."]
    if m.CODE not in names:
        faults.append("No column is the case code.")
    if {m.MEASURE, m.SCORE} & kinds and not {m.DATE, m.VISIT} & names:
        faults.append("What was measured needs the date or the visit it belongs to: no column has it.")
    if m.DIARY in kinds and m.DATE not in names:
        faults.append("A diary needs the date of each day: no column has it.")
    for one, needs in (
        (m.NEXT_REVIEW, m.VISIT),
        (m.INTERVAL, m.VISIT),
        (m.STAGE, m.STAGE_SINCE),
        (m.APPOINTMENT_AT, m.APPOINTMENT),
        (m.OPERATION, "date of surgery"),
    ):
        if one in names and needs not in names:
            faults.append(f'"{one}" needs "{needs}", which no column has: leave it out, or name that column.')
    if m.NEXT_REVIEW in names and m.INTERVAL in names:
        faults.append(f'"{m.NEXT_REVIEW}" and "{m.INTERVAL}" say the same: leave one out.')
    return faults


# a map file


def read_map(path: Path) -> Map:
    """The map in a file. Raises :class:`SheetRefused` of one sentence."""
    called = shown(path.name)
    try:
        content = tomllib.loads(read_bounded(path, MB).decode("utf-8-sig"))
    except OSError as error:
        raise SheetRefused(f"{called} cannot be read ({error.strerror}): check the path") from None
    except (ValueError, RecursionError) as error:
        why = " ".join(str(error).split())[:100] or "nested beyond all measure"
        raise SheetRefused(f"{called} is no map of columns ({why}): correct it") from None
    return _checked(content, called)


def _checked(content: Mapping[str, Any], called: str) -> Map:
    for table in content:
        if table not in ("columns", "dates", "always"):
            raise SheetRefused(
                f'{called}: it holds the tables "columns", "dates" and "always", not {shown(table)}'
            )
    tables = {name: content.get(name, {}) for name in ("columns", "dates", "always")}
    for name, table in tables.items():
        if not isinstance(table, dict) or not all(
            isinstance(one, str) for one in cast("dict[str, Any]", table).values()
        ):
            raise SheetRefused(f'{called}: "{name}" holds lines such as "Heading" = "words"')
    made = Map(
        {key_of(key): _known(called, key, word) for key, word in tables["columns"].items()},
        {key_of(key): _order(called, key, word) for key, word in tables["dates"].items()},
        {_always(called, key): squeezed(word) for key, word in tables["always"].items()},
    )
    return made


def _known(called: str, heading: str, word: str) -> str:
    if (meaning := named(word)) is not None:
        return meaning.name
    close = get_close_matches(squeezed(word), list(meanings()), n=3, cutoff=0.4)
    hint = (
        f"did you mean {' or '.join(shown(one) for one in close)}" if close else "armrise import --meanings"
    )
    raise SheetRefused(f"{called}: {shown(heading)} cannot mean {shown(word)}, {hint}")


def _order(called: str, heading: str, word: str) -> str:
    if squeezed(word).casefold() not in ORDERS:
        raise SheetRefused(f'{called}: the dates of {shown(heading)} are "day first" or "month first"')
    return squeezed(word).casefold()


def _always(called: str, name: str) -> str:
    if (meaning := named(name)) is not None and meaning.name in ALWAYS:
        return meaning.name
    raise SheetRefused(f"{called}: {shown(name)} cannot hold for every row, allowed is {', '.join(ALWAYS)}")


def map_text(columns: Iterable[Column], always: Mapping[str, str]) -> str:
    """The map of these columns as a file that says the same again."""
    seen: dict[str, Column] = {}
    for column in columns:
        seen.setdefault(column.heading.key, column)
    lines = [
        "# What each column means: armrise import FILE --map THIS_FILE. armrise import --meanings lists all.",
        "",
    ]
    lines.append("[columns]")
    for column in seen.values():
        name = column.meaning.name if column.meaning else m.LEAVE_OUT
        told = f"  # {column.why}" if column.why not in ("", PROPOSED, SAID, KEPT) else ""
        lines.append(f"{_quoted(column.heading.key)} = {_quoted(name)}{told}")
    dated = [
        one for one in seen.values() if one.used and one.meaning and one.meaning.reads.startswith("date")
    ]
    lines += ["", "[dates]", '# "day first" or "month first", where nothing in the column shows which.']
    lines += [
        f"{'' if one.order else '# '}{_quoted(one.heading.key)} = {_quoted(one.order or ORDERS[0])}"
        for one in dated
    ]
    lines += ["", "[always]", '# What holds for every row, such as: "clinician" = "TK"']
    lines += [f"{_quoted(name)} = {_quoted(value)}" for name, value in always.items()]
    return "\n".join([*lines, ""])


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


# what the store remembers


def remembered_map(told: str) -> Map:
    """What a store remembers of headings; nothing where it cannot be read any more."""
    try:
        kept: dict[str, dict[str, str]] = json.loads(told) if told else {}
        columns, dates = kept.get("columns", {}), kept.get("dates", {})
        return Map(
            {key: name for key, name in columns.items() if named(str(name))},
            {key: order for key, order in dates.items() if order in ORDERS},
        )
    except (ValueError, AttributeError, TypeError, RecursionError):
        return Map()


def to_remember(columns: Iterable[Column], kept: Map) -> str:
    """What is remembered once a file was taken: what its headings mean now, the newest at the end."""
    made = Map(dict(kept.columns), dict(kept.dates))
    for column in columns:
        key = column.heading.key
        if column.personal or not column.heading.words:
            continue
        made.columns.pop(key, None)
        if column.meaning is not None:
            made.columns[key] = column.meaning.name
        made.dates.pop(key, None)
        if column.order:
            made.dates[key] = column.order
    newest = dict(list(made.columns.items())[-MOST_REMEMBERED:])
    return json.dumps({"columns": newest, "dates": {k: o for k, o in made.dates.items() if k in newest}})
