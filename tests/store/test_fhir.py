"""A caseload as a FHIR R4 bundle and back: what is carried comes back, and nothing else."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.fhir.bundle import MARK, Asked, as_text, resources
from armrise.store.exchange.fhir.carried import BY_KIND
from armrise.store.exchange.fhir.read import read_bundle
from armrise.store.exchange.fhir.systems import (
    PERSON,
)
from armrise.store.exchange.into import caseload_parser
from armrise.store.record.fields import Children, Words
from armrise.store.record.kinds.care import Appointment, Attendance, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Measure, Score
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.paperwork import Discharge, Reopen
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.kinds.safety import Onset
from tests.store import drafts
from tests.store.bundles import (
    RULES,
    clinic,
    decoded,
    demonstration,
    same,
    three,
)

# the whole way


def test_the_demonstration_goes_out_with_nobodys_name_and_comes_back() -> None:
    """Every carried field of every carried entry; what was withdrawn is counted, and no text that stays
    behind is in the bundle."""
    text = as_text(demonstration(), RULES)
    back = read_bundle(decoded(text), "bundle", clinic(demonstration()))
    same(back, demonstration())
    assert back.caseload.fictional
    assert back.left_out == Counter({"Observation with status entered-in-error": 1})
    free = {words for words in texts_left(demonstration()) if len(words) > 8}
    assert len(free) > 10
    assert not [words for words in free if json.dumps(words)[1:-1] in text]
    hosts = set(re.findall(r"https?://([^/\"]+)", text))
    assert hosts == {"hl7.org", "loinc.org", "terminology.hl7.org", "unitsofmeasure.org"}
    assert not re.search(r'"(name|birthDate|gender|telecom|address)"', text)


def texts_left(of: CaseloadFile) -> Iterator[str]:
    """Every text of a carried kind that stays behind."""
    for case in of.cases:
        yield case.head.referrer
        for entry in case.entries:
            for name in BY_KIND[entry.KIND].lost if entry.KIND in BY_KIND else ():
                yield getattr(entry, name) or ""


def test_what_the_store_has_is_taken_for_what_it_has() -> None:
    """Texts that a bundle does not carry included: what came back is the very entry of the store."""
    back = read_bundle(decoded(as_text(three(), RULES)), "bundle", clinic(three(), *three().cases))
    for case, found in zip(three().cases, back.caseload.cases, strict=True):
        assert found.head == case.head
        assert found.entries
        assert all(entry in case.entries for entry in found.entries)


def test_two_bundles_are_the_same_to_the_byte_and_go_by_the_same_names_elsewhere() -> None:
    plain = replace(three(), cases=three().cases[:1])
    once = as_text(plain, RULES)
    assert once == as_text(plain, RULES)
    assert once.startswith(MARK)
    assert once.isascii()
    assert as_text(read_bundle(decoded(once), "bundle", clinic(three())).caseload, RULES) == once


def test_two_clinics_share_no_name() -> None:
    """The same codes of another clinic are other persons: the system of the codes is in every name."""
    mine, theirs = (
        {one["id"] for one in resources(three(), RULES, Asked(person_system=system))}
        for system in (PERSON, "urn:oid:2.999.1")
    )
    assert not mine & theirs


KINDS = (Measure, Score, Session, Morning, Step, Visit, ProgrammeItem, Onset, Discharge, Reopen)


def typed(record: Any) -> Any:
    """The record with texts as somebody can have typed them: without blanks at their ends."""
    changed: dict[str, Any] = {}
    for one in fields(record):
        value, rule = getattr(record, one.name), one.metadata.get("rule")
        if isinstance(rule, Words) and value is not None:
            changed[one.name] = value.strip().ljust(rule.shortest, "x")
        elif isinstance(rule, Children):
            changed[one.name] = tuple(map(typed, value))
    return replace(record, **changed)


@pytest.mark.parametrize("kind", [*KINDS, Appointment, Attendance], ids=lambda kind: kind.KIND)
@given(example=st.data())
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_entry_comes_back_as_it_is_carried(
    kind: type[Entry], example: st.DataObject, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever a field may hold; what entries may not say together is not asked here."""
    monkeypatch.setattr(caseload_parser, "check_case", lambda *_, **__: [])
    drawn = example.draw(st.lists(drafts.records(kind), min_size=1, max_size=4))
    entries = tuple(map(typed, drawn))
    at = datetime(2026, 3, 2, 9, 0, 1, 123456, tzinfo=UTC)
    entries = tuple(replace(e, recorded_at=at.replace(minute=n)) for n, e in enumerate(entries))
    file = CaseloadFile(drafts.TODAY, "Europe/London", False, "", (FileCase(drafts.head(), entries),))
    same(read_bundle(decoded(as_text(file, RULES)), "bundle", clinic(file)), file)
