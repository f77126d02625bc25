"""Bundles of FHIR for the tests: of the fictional caseload, of drafts, and back."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

from armrise.store.caseload.taking.recognise import content
from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.fhir.bundle import Asked, resources
from armrise.store.exchange.fhir.carried import laid_out
from armrise.store.exchange.fhir.read import Bundle, Clinic
from armrise.store.exchange.fhir.systems import (
    PERSON,
)
from armrise.store.exchange.into.caseload_file import demo_path, read
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction, Reopen
from armrise.store.rules.read import load
from tests.store import drafts

RULES = load()
Json = dict[str, Any]


@cache
def demonstration() -> CaseloadFile:
    """The fictional caseload."""
    return read(demo_path(), RULES)


@cache
def three() -> CaseloadFile:
    """Three cases of it: the first, one with something withdrawn, one opened again."""
    of = demonstration()
    wanted = [c for c in of.cases if any(isinstance(e, Correction | Reopen) for e in c.entries)]
    return replace(of, cases=(of.cases[0], *wanted[:2]))


def decoded(text: str) -> Json:
    return json.loads(text, parse_float=Decimal)


def clinic(of: CaseloadFile, *known: FileCase, system: str = PERSON) -> Clinic:
    return Clinic(
        today=of.clinic_date, zone=of.zone, known=lambda *_: known, rules=RULES, person_system=system
    )


def expected(case: FileCase) -> list[Entry]:
    """The entries of a case as they come back, in the order of writing."""
    places = [p for some in laid_out(case.entries).places.values() for p in some if not p.withdrawn]
    return [place.entry for place in sorted(places, key=lambda place: place.number)]


def same(read_back: Bundle, of: CaseloadFile) -> None:
    for case, back in zip(of.cases, read_back.caseload.cases, strict=True):
        assert replace(case.head, referrer="") == back.head
        assert list(map(content, expected(case))) == list(map(content, back.entries))


def one_case(*entries: Entry, **head: Any) -> CaseloadFile:
    return CaseloadFile(drafts.TODAY, "Europe/London", False, "", (FileCase(drafts.head(**head), entries),))


def of_type(file: CaseloadFile, kind: str, asked: Asked | None = None) -> list[Json]:
    return [one for one in resources(file, RULES, asked or Asked()) if one["resourceType"] == kind]
