"""A caseload as one FHIR R4 bundle: a collection, which asks nobody to do anything with it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.fhir import care
from armrise.store.exchange.fhir.carried import laid_out
from armrise.store.exchange.fhir.observations import Case, observations
from armrise.store.exchange.fhir.pieces import Json, Names, coding, name_of
from armrise.store.exchange.fhir.systems import LOCAL, REASON, VERSION
from armrise.store.record.clock import clinic_zone
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.record.kinds.plan import Hold
from armrise.store.record.known import withdrawn_ids
from armrise.store.rules.pathway import Rules

FORMAT = f"armrise bundle 1, FHIR R4 ({VERSION})"
MARK = f'{{\n "resourceType": "Bundle",\n "meta": {{"tag": [{{"system": "{LOCAL}", "code": "armrise bundle '
"""How every bundle written here begins: a file that begins otherwise is never written over."""
NO_REVIEWS: Mapping[str, date] = {}


def as_text(
    caseload: CaseloadFile, rules: Rules, reviews: Mapping[str, date] = NO_REVIEWS, *, snomed: bool = False
) -> str:
    """The bundle as JSON, one resource a line, in plain ASCII. The same caseload always gives the same text.

    ``reviews`` gives the day a review is due, by the code of the case; ``snomed`` adds codes of SNOMED CT.
    """
    tag = [coding(LOCAL, FORMAT.partition(",")[0], f"FHIR R4 ({VERSION}), written by armrise")]
    meta: Json = {"tag": tag}
    if caseload.fictional:
        meta["security"] = [coding(REASON, "HTEST", "test health data")]
    lines = (
        f"  {as_json({'fullUrl': 'urn:uuid:' + resource['id'], 'resource': resource})}"
        for resource in resources(caseload, rules, reviews, snomed=snomed)
    )
    body = ",\n".join(lines)
    entries = f',\n "entry": [\n{body}\n ]' if body else ""
    return f'{{\n "resourceType": "Bundle",\n "meta": {as_json(meta)},\n "type": "collection"{entries}\n}}\n'


def resources(
    caseload: CaseloadFile, rules: Rules, reviews: Mapping[str, date] = NO_REVIEWS, *, snomed: bool = False
) -> Iterator[Json]:
    """Every resource: the persons, then case by case."""
    for person in dict.fromkeys(case.head.person for case in caseload.cases):
        yield care.patient(person)
    for filed in caseload.cases:
        yield from _of_case(filed, caseload, rules, reviews.get(filed.head.code), snomed=snomed)


def _of_case(
    filed: FileCase, caseload: CaseloadFile, rules: Rules, due: date | None, *, snomed: bool
) -> Iterator[Json]:
    head, laid = filed.head, laid_out(filed.entries)
    case = Case(
        code=head.code,
        side=head.side,
        patient=name_of("person", head.person),
        names=Names(head.code),
        rules=rules,
        snomed=snomed,
    )
    yield care.condition(case, head, laid)
    yield care.episode(case, head, laid, _holds(filed), caseload.clinic_date)
    yield from care.encounters(case, laid)
    yield from observations(case, laid)
    yield care.plan(case, head, laid)
    yield from care.appointments(case, laid, clinic_zone(caseload.zone))
    if due is not None and care.ended(laid) is None:
        yield care.review(case, due, laid)


def _holds(filed: FileCase) -> list[Hold]:
    """The holds that stand, in the order of their dates: they are not carried, the status of the episode is."""
    numbered = list(enumerate(filed.entries, 1))
    from dataclasses import replace

    gone = withdrawn_ids(replace(e, id=number) for number, e in numbered if isinstance(e, Correction))
    standing = [(e.on, number, e) for number, e in numbered if isinstance(e, Hold) and number not in gone]
    return [hold for _, _, hold in sorted(standing, key=lambda found: found[:2])]


def as_json(value: Any) -> str:
    """A value as JSON: a decimal with the digits and places it has, which a floating number has not."""
    return _NUMBER.sub(r"\1", json.dumps(value, default=_digits))


_NUMBER = re.compile(r'"\\u0000(-?[0-9.]+)\\u0000"')
"""A decimal on its way: no text of the record holds the signs around it."""


def _digits(value: Any) -> str:
    assert isinstance(value, Decimal)
    return f"\0{value:f}\0"
