"""Every schema there is, by the name it is asked for: what is read, and each output with its version."""

from __future__ import annotations

from collections.abc import Callable

from armrise.store.exchange.out.schema import Schema
from armrise.store.exchange.out.schema_case import case_schema
from armrise.store.exchange.out.schema_caseload import caseload_schema
from armrise.store.exchange.out.schema_outputs import (
    audit_schema,
    due_schema,
    keys_schema,
    list_schema,
    minutes_schema,
    rules_schema,
    trial_schema,
    verify_schema,
    views_schema,
    why_schema,
)
from armrise.store.exchange.person.schema import person_schema
from armrise.store.exchange.tables.schema import csv_schema

SCHEMAS: dict[str, Callable[[], Schema]] = {
    "caseload": caseload_schema,
    "list": list_schema,
    "case": case_schema,
    "why": why_schema,
    "due": due_schema,
    "minutes": minutes_schema,
    "handover": lambda: list_schema("handover"),
    "views": views_schema,
    "audit": audit_schema,
    "keys": keys_schema,
    "rules": rules_schema,
    "trial": trial_schema,
    "verify": verify_schema,
    "csv": csv_schema,
    "person": person_schema,
}
