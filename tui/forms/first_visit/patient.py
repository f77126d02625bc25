"""What is said of the patient once: known from the registration, or asked at the first visit. Pure."""

from __future__ import annotations

from armrise.store.entries.words import CaseHead
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.paperwork import PatientDetails
from armrise.store.record.words import listed
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.measures.given import Given
from armrise.tui.words.entries import day

FIELDS = {"age": "age_band", "dominance": "dominance", "referrer": "referrer"}
"""Where the record keeps what each field asks."""


def told_before(record: CaseRecord) -> dict[str, str]:
    """What is known, by the fields that would ask it; empty where nobody said it."""
    return {key: getattr(record, name) or "" for key, name in FIELDS.items()}


def known_words(record: CaseRecord, rules: Rules) -> str:
    """The registration in a sentence, with what is not asked again."""
    pathway = rules.pathways.get(record.pathway)
    said = listed(
        f"person {record.person}",
        record.age_band and f"age {record.age_band}",
        record.dominance and f"preferred hand {record.dominance}",
        record.referrer and f"referred by {record.referrer}",
        f"for {pathway.name}" if pathway else "",
    )
    change = "\n  F3 puts age, hand or referrer right." if any(told_before(record).values()) else ""
    return f"  Registered {day(record.registered_on)}: {said}.{change}"


def details(given: Given, record: CaseRecord) -> list[Draft]:
    """What is added to the registration or put right; nothing where it stays as it was."""
    before = told_before(record)
    new = {FIELDS[key]: given[key] for key in FIELDS if given[key] and given[key] != before[key]}
    return [(PatientDetails.KIND, {"source": REPORTED, **new})] if new else []


def head(given: Given, pathway: str) -> CaseHead:
    """What is said once of a case that is registered with its first visit."""
    return CaseHead(
        code=given["code"],
        person=given["person"],
        side=given["side"],
        pathway=pathway,
        registered_on=given.today,
        dominance=given["dominance"] or None,
        age_band=given["age"] or None,
        clinician=given.author,
        referrer=given["referrer"],
    )


def registered_for(record: CaseRecord, onset: str, rules: Rules) -> str:
    """The pathway of the registration; "" where what began it heals by a clock that this pathway has not."""
    told = rules.pathways.get(record.pathway)
    clocks = {pathway.clock for pathway in rules.pathways.values() if pathway.clock}
    return "" if told is None or (onset in clocks and told.clock != onset) else told.code
