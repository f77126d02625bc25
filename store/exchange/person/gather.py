"""Everything kept of one person, over all cases: what was recorded and what follows from it, and of no other.

Practice notes 6.3: an export for each person's code, for an access request. Withdrawn entries are in it,
since they are kept. What was entered here by mistake and moved to another person's case says that alone; the
codes of others are taken out wherever a text names one.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, cast

from armrise.store.caseload import read as caseload
from armrise.store.caseload.timeline import Told, read_timeline
from armrise.store.clinic.standing.explain import explain
from armrise.store.clinic.standing.rows import plain
from armrise.store.database.driver import Connection
from armrise.store.database.instants import EPOCH, MICROSECOND
from armrise.store.database.place import Store
from armrise.store.entries.build import FieldRule, field_rules
from armrise.store.record.fields import Absence, Children
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import DoneItem
from armrise.store.record.phrase import phrase
from armrise.store.rules.pathway import Rules

NAMED = "[another case]"
"""Stands where a text names a case or a person other than the one who asks."""
ELSEWHERE = "entered here by mistake and moved to the case it belongs to: it is about somebody else"
HEAD = ("side", "pathway", "registered_on", "dominance", "age_band", "clinician", "referrer")
NOT_IN_IT = (
    "Who the code belongs to: it is not kept here.",
    "Backups and exports made before, and files outside the store.",
    "What was entered in a wrong case and withdrawn without being moved is in it, and may be about somebody "
    "else: read it before it leaves your hands.",
)


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept of a person: plain data, ready for JSON."""

    person: str
    data: dict[str, Any]


def gather(store: Store, rules: Rules, today: date, person: str, codes: Sequence[str]) -> Kept:
    """Everything of a person whose cases have these codes, as known to the store on a clinic date.

    Raises :class:`~armrise.store.database.place.StoreError`.
    """
    own = {*codes, person}
    everybody = {part for code, whose, _ in caseload.heads(store) for part in (code, whose)}
    hide = _hiding(everybody - own)
    data = {
        "person": person,
        "as_of": today.isoformat(),
        "fictional": store.fictional,
        "rules": {"version": rules.version, "signed_off": rules.sign_off},
        "cases": [_case(store, rules, today, code, own) for code in codes],
        "beside_the_record": _desk(store, codes),
        "not_in_it": list(NOT_IN_IT),
    }
    return Kept(person, cast("dict[str, Any]", hide(data)))


def _hiding(others: Collection[str]) -> Callable[[Any], Any]:
    """What takes the codes of others out of every text, whatever the case of their letters."""
    if not others:
        return lambda value: value
    named = re.compile(
        "|".join(_naming(code) for code in sorted(others, key=len, reverse=True)), re.IGNORECASE
    )

    def hide(value: Any) -> Any:
        if isinstance(value, str):
            return named.sub(NAMED, value)
        if isinstance(value, Mapping):
            return {key: hide(part) for key, part in cast("Mapping[str, Any]", value).items()}
        return [hide(part) for part in cast("list[Any]", value)] if isinstance(value, list) else value

    return hide


def _naming(code: str) -> str:
    """Where a text names a code; one that reads like a value ("7") only behind words that lead to it."""
    whole = rf"{re.escape(code)}(?![\w-])"
    if code.isdigit() or len(code) < 3:
        return "|".join(rf"(?<={words} ){whole}" for words in ("belongs to", "entered in", "case", "person"))
    return rf"(?<![\w.-]){whole}"


def _case(store: Store, rules: Rules, today: date, code: str, own: Collection[str]) -> dict[str, Any]:
    timeline = read_timeline(store, code, rules, today)
    record = timeline.record
    told = sorted(timeline.told, key=lambda one: one.entry.id)
    return {
        "code": code,
        "head": {name: plain(getattr(record, name)) or None for name in HEAD},
        "entries": [_entry(one, store, rules, own) for one in told],
        "worked_out": explain(record, rules, today),  # without what the cases of others took
    }


def _entry(told: Told, store: Store, rules: Rules, own: Collection[str]) -> dict[str, Any]:
    entry, gone = told.entry, told.withdrawn_by
    away = gone is not None and told.moved_to is not None and told.moved_to.code not in own
    return {
        "entry": entry.id,
        "kind": entry.KIND,
        "on": entry.on.isoformat(),
        "recorded": store.local(entry.recorded_at).isoformat(),
        "author": entry.author or None,
        "source": entry.source,
        "says": ELSEWHERE if away else phrase(entry, rules),
        "fields": {} if away else dict(_fields(entry)),
        "withdrawn": {
            "on": gone.on.isoformat(),
            "author": gone.author or None,
            "reason": gone.reason,
        }
        if gone
        else None,
    }


def _fields(part: Entry | DoneItem) -> Iterator[tuple[str, Any]]:
    """Every field that says something, as JSON has it."""
    for spec in field_rules(type(part)):
        value = getattr(part, spec.name)
        if value is not None and value != ():
            yield spec.name, _value(spec, value)
    if isinstance(part, Entry) and part.history:
        yield "history", True


def _value(spec: FieldRule, value: Any) -> Any:
    if isinstance(spec.rule, Children):
        return [dict(_fields(child)) for child in value]
    return value.value if isinstance(value, Absence) else _numbers(plain(value))


def _numbers(value: Any) -> Any:
    if isinstance(value, list):
        return [_numbers(part) for part in cast("list[Any]", value)]
    return float(value) if isinstance(value, Decimal) else value


def _desk(store: Store, codes: Sequence[str]) -> dict[str, Any]:
    """What lies beside the record: who opened a case last and when, own marks, forms not written."""
    with store.reading() as connection:
        looks = _rows(connection, "look", "author, code, at_utc", codes)
        marks = _rows(connection, "mark", "author, code", codes)
        drafts = _rows(connection, "draft", "author, code, form, at_utc, fields", codes)
    return {
        "last_opened": [{"author": a, "case": code, "at": _at(store, at)} for a, code, at in looks],
        "marked": [{"author": a, "case": code} for a, code in marks],
        "forms_not_written": [
            {"author": a, "case": code, "form": form, "at": _at(store, at), "typed": json.loads(typed)}
            for a, code, form, at, typed in drafts
        ],
    }


def _rows(connection: Connection, table: str, names: str, codes: Sequence[str]) -> list[Any]:
    marks = ", ".join("?" * len(codes))
    sql = f"SELECT {names} FROM {table} WHERE code IN ({marks}) ORDER BY code, author"
    return connection.execute(sql, tuple(codes)).fetchall()


def _at(store: Store, at_utc: int) -> str:
    return store.local(EPOCH + at_utc * MICROSECOND).isoformat()
