"""Files read once a process, where the program reads them whenever it begins.

Parsing TOML is a function of the text. What is handed out is a copy of what was parsed, made anew each time,
so that whoever changes it changes nobody else's; a text that is not valid is refused each time by the parser.
The shipped rules and the demonstration, which nothing changes meanwhile, are checked once a process too.
Of the rules each reader is given tables of its own; the caseload cannot be changed. A command that is given
``--demo`` has a store of its own, in memory, copied from the first.
"""

from __future__ import annotations

import pickle
import tomllib
from collections.abc import Callable
from contextlib import closing
from dataclasses import fields, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from armrise.store.database.driver import Driver
from armrise.store.database.place import Store
from armrise.store.database.sqlite_file import SqliteMemory
from armrise.store.entries.filed import CaseloadFile
from armrise.store.exchange.into import caseload_file
from armrise.store.rules import read
from armrise.store.rules.folder.place import SHIPPED
from armrise.store.rules.pathway import Rules
from armrise.store.rules.table import Faults
from armrise.tui.shell import intake

parse = tomllib.loads
check = read._load
open_file = read._read
take_in = caseload_file.read
fill = intake.filled
MOST = 256
"""Texts kept: all rule files, and those a test changes a number in."""


@lru_cache(MOST)
def _parsed(text: str, parse_float: Callable[[str], Any]) -> bytes:
    return pickle.dumps(parse(text, parse_float=parse_float), pickle.HIGHEST_PROTOCOL)


def loads(text: str, /, *, parse_float: Callable[[str], Any] = float) -> dict[str, Any]:
    """As :func:`tomllib.loads`."""
    return pickle.loads(_parsed(text, parse_float))


@cache
def _shipped() -> Rules:
    return check(SHIPPED, Faults())


def rules_of(folder: Path, said: Faults) -> Rules:
    """The rules of a folder; of the shipped ones another object each time, with tables of its own.

    Not where faults are gathered, and not where a test has put something in the place of a file.
    """
    if folder != SHIPPED or said.keep or read._read is not open_file:
        return check(folder, said)
    made = _shipped()
    tables = ((one.name, getattr(made, one.name)) for one in fields(made))
    return replace(made, **{name: dict(table) for name, table in tables if isinstance(table, dict)})


@cache
def _demonstration() -> CaseloadFile:
    return take_in(caseload_file.demo_path(), _shipped())


def caseload_of(path: Path, rules: Rules | None = None, *more: Any, **others: Any) -> CaseloadFile:
    """The caseload of a file; of the demonstration under the shipped rules the same each time."""
    plain = not more and not others and path == caseload_file.demo_path()
    if plain and (rules is None or replace(rules, origin="") == _shipped()):
        return _demonstration()
    return take_in(path, rules, *more, **others)


@cache
def _filled() -> SqliteMemory:
    place = SqliteMemory()
    fill(_demonstration(), place)
    return place


def store_of(file: CaseloadFile, place: Path | Driver) -> Store:
    """A new store that holds a caseload; one in memory that holds the demonstration is a copy."""
    if file is not _demonstration() or not isinstance(place, SqliteMemory):
        return fill(file, place)
    with closing(_filled().connect()) as held, closing(place.connect()) as copy:
        held.backup(copy)
    return Store.open(place)


def read_toml_once() -> None:
    """Let every TOML of this process be read so."""
    tomllib.loads = loads  # type: ignore[assignment]


def read_once() -> None:
    """Let every TOML of this process be read so, the shipped rules and the demonstration."""
    read_toml_once()
    read._load = rules_of
    caseload_file.read = caseload_of
    intake.filled = store_of
