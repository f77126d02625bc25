"""What an entry states and no element of the standard says: one extension, a part for each field.

The parts go by the names of the fields (``armrise fields``), so whoever knows the record reads them, and
whoever does not leaves them alone, as the standard asks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import fields
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any, cast

from armrise.store.exchange.fhir.carried import BY_KIND, Place
from armrise.store.exchange.fhir.systems import STATED
from armrise.store.record.case import KINDS
from armrise.store.record.fields import BLANK, Absence, Children, Series
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.programme import DoneItem

Json = dict[str, Any]
PART = (
    *("valueInteger", "valueDecimal", "valueString", "valueBoolean", "valueCode"),
    *("valueDate", "valueInstant"),
)
"""How the value of a part may be written."""
COMMON = ("author", "source", "history")
HEAD = "case"
"""The kind under which what is said of the case itself stands."""


def extension(place: Place, leave: Collection[str] = ()) -> Json:
    """The extension of one entry, without the fields ``leave``, which elements of the standard say."""
    entry = place.entry
    parts = [part("kind", entry.KIND), part("number", place.number)]
    if "on" not in leave:
        parts.append(part("on", entry.on))
    if "recorded" not in leave:
        parts.append({"url": "recorded", "valueInstant": entry.recorded_at.isoformat()})
    parts += _parts(entry, {*leave, *BY_KIND[entry.KIND].elements})
    return {"url": STATED, "extension": parts}


def of_head(told: Mapping[str, str | None]) -> Json:
    """The extension with what is said of a case and no element says."""
    parts = [part(name, value) for name, value in told.items() if value]
    return {"url": STATED, "extension": [part("kind", HEAD), *parts]}


def part(name: str, value: Any) -> Json:
    """One field of it."""
    match value:
        case Absence():
            return {"url": name, "valueCode": value.value}
        case bool():
            return {"url": name, "valueBoolean": value}
        case int():
            return {"url": name, "valueInteger": value}
        case Decimal():
            return {"url": name, "valueDecimal": value}
        case date():
            return {"url": name, "valueDate": value.isoformat()}
        case DoneItem():
            return {"url": name, "extension": list(_parts(value, ()))}
        case _:
            return {"url": name, "valueString": BLANK if value is None else str(value)}


def _parts(record: Entry | DoneItem, leave: Collection[str]) -> Iterator[Json]:
    for name, default in _defaults(type(record)):
        value = getattr(record, name)
        if name in leave or value == default:
            continue
        for one in cast("tuple[Any, ...]", value) if isinstance(value, tuple) else (value,):
            yield part(name, one)


@cache
def _defaults(of: type[Any]) -> tuple[tuple[str, Any], ...]:
    ruled = [f for f in fields(of) if "rule" in f.metadata or f.name in COMMON]
    return tuple((f.name, f.default) for f in ruled)


def stated(raw: Json) -> Json:
    """What the extension says, by field: lists where the field is one, else the one value.

    A value is taken as it stands: what a field may hold is checked by whoever makes an entry of it.
    """
    found: Json = {}
    parts = cast("list[Any]", raw.get("extension"))
    for one in parts if isinstance(raw.get("extension"), list) else []:
        if isinstance(one, dict):
            told = cast("Json", one)
            found.setdefault(str(told.get("url")), []).append(_value(told))
    kind = found.get("kind", [None])[0]
    many = lists_of(KINDS[kind]) if isinstance(kind, str) and kind in KINDS else frozenset[str]()
    return {name: _list(values) if name in many else _one(values) for name, values in found.items()}


def _value(told: Json) -> Any:
    if "extension" in told:
        return stated(told)
    return next((told[name] for name in PART if name in told), None)


def _one(values: list[Any]) -> Any:
    # A field that stands twice and is no list is refused as what it is: a list.
    return values[0] if len(values) == 1 else values


def _list(values: list[Any]) -> list[Any]:
    return [None if value == BLANK else value for value in values]


@cache
def lists_of(kind: type[Entry]) -> frozenset[str]:
    """The fields of a kind that hold a list."""
    return frozenset(f.name for f in fields(kind) if isinstance(f.metadata.get("rule"), (Children, Series)))
