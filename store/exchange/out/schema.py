"""JSON Schema (2020-12) of what goes in and out, made from the rules that stand beside the fields."""

from __future__ import annotations

import ast
import inspect
import re
import types
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

Schema = dict[str, Any]
DIALECT = "https://json-schema.org/draft/2020-12/schema"
PLAIN: Mapping[Any, Schema] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    Decimal: {"type": "number"},
    Fraction: {"type": "number"},
    date: {"type": "string", "format": "date"},
    types.NoneType: {"type": "null"},
}


def document(title: str, schema: Schema, parts: Mapping[str, Schema] | None = None) -> Schema:
    """A whole schema; ``parts`` are referred to by :func:`ref`."""
    whole = {"$schema": DIALECT, "title": title, **schema}
    return whole | {"$defs": dict(parts)} if parts else whole


def ref(name: str) -> Schema:
    """A reference to a part of the document."""
    return {"$ref": f"#/$defs/{name}"}


def told(schema: Schema, meaning: str) -> Schema:
    """The schema with what it means."""
    return {**schema, "description": meaning} if meaning else schema


def either(*schemas: Schema) -> Schema:
    """One of several; what the schemas say they mean stays with the whole."""
    meaning = next((s["description"] for s in schemas if "description" in s), "")
    bare = [{key: part for key, part in s.items() if key != "description"} for s in schemas]
    return told({"anyOf": bare}, meaning)


def words(allowed: Sequence[str]) -> Schema:
    """One of a closed list."""
    return {"enum": [str(word) for word in allowed]}


def many(schema: Schema) -> Schema:
    """A list of it."""
    return {"type": "array", "items": schema}


def mapping(properties: Mapping[str, Schema], optional: Sequence[str] = ()) -> Schema:
    """An object with these fields and no other; all but the optional ones are always there."""
    return {
        "type": "object",
        "properties": dict(properties),
        "required": [name for name in properties if name not in optional],
        "additionalProperties": False,
    }


def of_type(hint: Any, known: Mapping[Any, Schema] = PLAIN) -> Schema:
    """What JSON holds for a value of a declared type: a known one, a closed list, a list, a record."""
    if hint in known:
        return known[hint]
    if get_origin(hint) in (Union, types.UnionType):
        return either(*(of_type(one, known) for one in get_args(hint)))
    if get_origin(hint) is tuple:
        return many(of_type(get_args(hint)[0], known))
    if issubclass(hint, StrEnum):
        return words(list(hint))
    return mapping(of_fields(hint, known=known))


def of_fields(
    of: type, leave_out: Sequence[str] = (), known: Mapping[Any, Schema] = PLAIN
) -> dict[str, Schema]:
    """The fields of a record as it is declared, each with what is said under it."""
    hints, say = get_type_hints(of), meanings(of)
    named = [name for name in names_of(of) if name not in leave_out]
    return {name: told(of_type(hints[name], known), say.get(name, "")) for name in named}


def names_of(of: Any) -> Sequence[str]:
    """The names of the fields of a record, which is a dataclass or a tuple with names."""
    return [field.name for field in fields(of)] if is_dataclass(of) else of._fields


@cache
def meanings(of: type) -> Mapping[str, str]:
    """What stands under each field of a record type as its text, those of what it builds on included."""
    found: dict[str, str] = {}
    for one in reversed([c for c in of.__mro__ if c.__module__.startswith("armrise.")]):
        body = ast.parse(inspect.getsource(one)).body[0]
        assert isinstance(body, ast.ClassDef)
        for field, text in zip(body.body, body.body[1:], strict=False):
            if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
                match text:
                    case ast.Expr(value=ast.Constant(value=str(said))):
                        found[field.target.id] = flat(said)
                    case _:
                        pass
    return found


def flat(text: str) -> str:
    """A text beside a field for a reader of JSON: on one line, names in single marks, null for None."""
    return re.sub(r"\bNone\b", "null", " ".join(text.split()).replace("``", "`"))
