"""A caseload as one FHIR R4 bundle: a collection, which asks nobody to do anything with it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any

from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.fhir import care
from armrise.store.exchange.fhir.carried import laid_out
from armrise.store.exchange.fhir.observations import Case, observations
from armrise.store.exchange.fhir.pieces import Json, Names, coding, name_of
from armrise.store.exchange.fhir.systems import LOCAL, PERSON, REASON, VERSION
from armrise.store.record.clock import clinic_zone
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.plan import Hold
from armrise.store.record.known import withdrawn_ids
from armrise.store.rules.pathway import Rules

FORMAT = "armrise bundle 1"
MARK = f'{{\n "resourceType": "Bundle",\n "meta": {{"tag": [{{"system": "{LOCAL}", "code": "armrise bundle '
"""How every bundle written here begins: a file that begins otherwise is never written over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a bundle is asked for."""

    reviews: Mapping[str, date] = field(default_factory=dict[str, date])
    """The day a review is due, by the code of the case."""
    snomed: bool = False
    """Codes of SNOMED CT beside the others."""
    person_system: str = PERSON
    """The system the codes of persons belong to."""


def as_text(caseload: CaseloadFile, rules: Rules, asked: Asked | None = None) -> str:
    """The bundle as JSON in plain ASCII, one resource a line: of the same caseload always the same text."""
    tag = [coding(LOCAL, FORMAT, f"FHIR R4 ({VERSION}), written by armrise")]
    meta: Json = {"tag": tag}
    if caseload.fictional:
        meta["security"] = [coding(REASON, "HTEST", "test health data")]
    lines = (
        f"  {as_json({'fullUrl': 'urn:uuid:' + resource['id'], 'resource': resource})}"
        for resource in resources(caseload, rules, asked or Asked())
    )
    body = ",\n".join(lines)
    entries = f',\n "entry": [\n{body}\n ]' if body else ""
    return f'{{\n "resourceType": "Bundle",\n "meta": {as_json(meta)},\n "type": "collection"{entries}\n}}\n'


def resources(caseload: CaseloadFile, rules: Rules, asked: Asked) -> Iterator[Json]:
    """Every resource: the persons, then case by case."""
    for person in dict.fromkeys(case.head.person for case in caseload.cases):
        yield care.patient(person, asked.person_system)
    for filed in caseload.cases:
        yield from _of_case(filed, caseload, rules, asked)


def _of_case(filed: FileCase, caseload: CaseloadFile, rules: Rules, asked: Asked) -> Iterator[Json]:
    head, laid, system = filed.head, laid_out(filed.entries), asked.person_system
    case = Case(
        side=head.side,
        patient=name_of(system, "person", head.person),
        names=Names(system, head.code),
        rules=rules,
        snomed=asked.snomed,
    )
    yield care.condition(case, head, laid)
    yield care.episode(case, head, laid, _holds(filed), caseload.clinic_date)
    yield from care.encounters(case, laid)
    yield from observations(case, laid)
    yield care.plan(case, head, laid)
    yield from care.appointments(case, laid, clinic_zone(caseload.zone))
    due = asked.reviews.get(head.code)
    if due is not None and care.ended(laid) is None:
        yield care.review(case, due, laid)


def _holds(filed: FileCase) -> list[Hold]:
    """The holds that stand, by date: they are not carried, but the status of the episode tells of them."""
    numbered = list(enumerate(filed.entries, 1))
    gone = withdrawn_ids(replace(e, id=number) for number, e in numbered if isinstance(e, Correction))
    standing = [(e.on, number, e) for number, e in numbered if isinstance(e, Hold) and number not in gone]
    return [hold for _, _, hold in sorted(standing, key=lambda found: found[:2])]


def _digits(value: Any) -> str:
    assert isinstance(value, Decimal)
    return f"\0{value:f}\0"


_NUMBER = re.compile(r'"\\u0000(-?[0-9.]+)\\u0000"')
"""A decimal on its way: no text of the record holds the signs around it."""
_ENCODER = json.JSONEncoder(default=_digits)


def as_json(value: Any) -> str:
    """A value as JSON: a decimal with the digits and places it has, which a floating number has not."""
    return _NUMBER.sub(r"\1", _ENCODER.encode(value))
