"""The JSON Schema of everything kept of one person."""

from __future__ import annotations

from armrise.store.exchange.out.formats import FORMAT
from armrise.store.exchange.out.schema import Schema, mapping, told, words
from armrise.store.exchange.out.schema_case import case_schema
from armrise.store.exchange.out.schema_parts import (
    DAY,
    LINES,
    RULES,
    TEXT,
    WHOLE,
    YES,
    each,
    maybe,
    one,
    printed,
    rows,
)
from armrise.store.exchange.person.gather import HEAD
from armrise.store.record.case import KINDS


def person_schema() -> Schema:
    """Everything recorded of a person with who recorded what when, and what is worked out from it."""
    case = case_schema()
    worked_out = {name: part for name, part in case["properties"].items() if name != FORMAT}
    entry = {
        "entry": told(WHOLE, "its id"),
        "kind": words(tuple(KINDS)),
        "on": DAY,
        "recorded": told(TEXT, "an instant with its offset"),
        "author": maybe(TEXT, "initials"),
        "source": TEXT,
        "says": told(TEXT, "the entry in words"),
        "fields": {"type": "object", "description": "its fields by name, as armrise fields tells them"},
        "withdrawn": maybe(one({"on": DAY, "author": maybe(TEXT), "reason": TEXT}), "null where it stands"),
    }
    cases = {
        "code": TEXT,
        "head": one(dict.fromkeys(HEAD, maybe(TEXT))),
        "entries": rows(entry, "in the order in which they were written, withdrawn ones too"),
        "worked_out": mapping(worked_out),
    }
    fields = {
        "person": TEXT,
        "as_of": DAY,
        "fictional": YES,
        "rules": one(RULES),
        "cases": rows(cases),
        "beside_the_record": one(_desk()),
        "not_in_it": LINES,
    }
    return printed("person", "armrise person PERSON --json", fields, case["$defs"])


def _desk() -> dict[str, Schema]:
    who = each(TEXT, "author case")
    typed = {"type": "object", "additionalProperties": TEXT}
    return {
        "last_opened": rows({**who, "at": TEXT}),
        "marked": rows(who),
        "forms_not_written": rows({**who, **each(TEXT, "form at"), "typed": typed}),
    }
