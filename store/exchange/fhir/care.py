"""A case as resources of care: patient, condition, episode, visits, programme, slots, review."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, tzinfo

from armrise.store.entries.words import CaseHead
from armrise.store.exchange.fhir.carried import Laid, Place
from armrise.store.exchange.fhir.observations import Case
from armrise.store.exchange.fhir.pieces import (
    Json,
    coding,
    concept,
    day,
    name_of,
    person_of,
    shoulder,
    to,
    without_nothing,
)
from armrise.store.exchange.fhir.stated import extension, of_head
from armrise.store.exchange.fhir.systems import (
    ABSENT_ELEMENT,
    CANCELLED,
    CASE,
    CLASS,
    CLINICAL,
    LOCAL,
    PATHWAY,
    REVIEW,
    WITHDRAWN,
)
from armrise.store.record.clock import NoSuchTime, instant_at, on_the_clock
from armrise.store.record.kinds.care import MISSED, Appointment, Attendance, Visit
from armrise.store.record.kinds.paperwork import Discharge, Reopen
from armrise.store.record.kinds.plan import Hold
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.kinds.safety import Onset

UNKNOWN = {"extension": [{"url": ABSENT_ELEMENT, "valueCode": "unknown"}]}
"""What stands beside an instant that the record does not know: a slot has no end, and may have no hour."""


def patient(person: str, system: str) -> Json:
    """A person: a code of that system and nothing else, neither name nor day of birth."""
    return {
        "resourceType": "Patient",
        "id": name_of(system, "person", person),
        "identifier": [{"system": system, "value": person}],
    }


def ended(laid: Laid) -> Discharge | None:
    """The discharge that stands, None while the case is open."""
    ends = sorted(
        [*laid.standing(Discharge), *laid.standing(Reopen)], key=lambda place: (place.entry.on, place.number)
    )
    last = ends[-1].entry if ends else None
    return last if isinstance(last, Discharge) else None


def condition(case: Case, head: CaseHead, laid: Laid) -> Json:
    """What the case is about: pathway and side, since when."""
    pathway = case.rules.pathways.get(head.pathway)
    onsets = laid.standing(Onset)
    newest = max((place.entry.on for place in onsets), default=None)
    return without_nothing(
        {
            "resourceType": "Condition",
            "id": case.names.beside("condition"),
            "extension": [case.belongs, *map(extension, onsets)],
            "clinicalStatus": concept("", coding(CLINICAL, "inactive" if ended(laid) else "active")),
            "code": concept(
                pathway.name if pathway else head.pathway,
                coding(PATHWAY, head.pathway, pathway.name if pathway else ""),
            ),
            "bodySite": [shoulder(head.side, snomed=case.snomed)],
            "subject": to(case.patient),
            "onsetDateTime": day(newest) if newest else None,
            "recordedDate": day(head.registered_on),
        }
    )


def episode(case: Case, head: CaseHead, laid: Laid, holds: Sequence[Hold], today: date) -> Json:
    """The case itself, by its code: from when to when, and how it stands."""
    end = ended(laid)
    return without_nothing(
        {
            "resourceType": "EpisodeOfCare",
            "id": case.episode,
            "extension": [
                of_head({"dominance": head.dominance, "age_band": head.age_band}),
                *map(extension, [*laid.standing(Discharge), *laid.standing(Reopen)]),
            ],
            "identifier": [{"system": CASE, "value": head.code}],
            "status": _status(laid, end, holds, today),
            "diagnosis": [{"condition": to(case.names.beside("condition"))}],
            "patient": to(case.patient),
            "period": without_nothing(
                {"start": day(head.registered_on), "end": day(end.on) if end else None}
            ),
            "careManager": person_of(head.clinician) if head.clinician else None,
        }
    )


def _status(laid: Laid, end: Discharge | None, holds: Sequence[Hold], today: date) -> str:
    if end:
        return "finished"
    if not laid.standing(Visit):
        return "waitlist"
    begun = [hold for hold in holds if hold.on <= today]
    return "onhold" if begun and begun[-1].until > today else "active"


def encounters(case: Case, laid: Laid) -> Iterator[Json]:
    """The visits."""
    for place in laid.every(Visit):
        entry = place.entry
        assert isinstance(entry, Visit)
        video = entry.mode == "video"
        yield without_nothing(
            {
                "resourceType": "Encounter",
                "id": case.names.of(entry),
                "extension": [case.belongs, *([] if place.withdrawn else [extension(place)])],
                "status": WITHDRAWN if place.withdrawn else "finished",
                "class": coding(CLASS, "VR", "virtual") if video else coding(CLASS, "AMB", "ambulatory"),
                "subject": to(case.patient),
                "episodeOfCare": [to(case.episode)],
                "participant": [{"individual": person_of(entry.author)}] if entry.author else None,
                "period": {"start": day(entry.on), "end": day(entry.on)},
            }
        )


def plan(case: Case, head: CaseHead, laid: Laid) -> Json:
    """The home programme: every version of every exercise, from when to when."""
    closed = ended(laid) is not None
    items = laid.standing(ProgrammeItem)
    ordered = sorted(items, key=lambda place: (place.entry.on, place.number))
    return without_nothing(
        {
            "resourceType": "CarePlan",
            "id": case.names.beside("plan"),
            "extension": [case.belongs],
            "status": "completed" if closed else "active",
            "intent": "plan",
            "title": "home programme",
            "subject": to(case.patient),
            "period": {"start": day(head.registered_on)},
            "addresses": [to(case.names.beside("condition"))],
            "activity": [_activity(case, place, ordered, closed=closed) for place in items],
        }
    )


def _activity(case: Case, place: Place, ordered: Sequence[Place], *, closed: bool) -> Json:
    item = place.entry
    assert isinstance(item, ProgrammeItem)
    later = [p.entry for p in ordered[ordered.index(place) + 1 :] if isinstance(p.entry, ProgrammeItem)]
    after = next((entry for entry in later if entry.exercise == item.exercise), None)
    status = "stopped" if item.stopped else "completed" if after or closed else "in-progress"
    period = {"start": day(item.on)} | ({"end": day(after.on)} if after else {})
    return {
        "extension": [extension(place)],
        "detail": {
            "code": concept(item.exercise),
            "status": status,
            "scheduledPeriod": period,
            "description": item.sentence(case.rules, ""),
        },
    }


def appointments(case: Case, laid: Laid, zone: tzinfo) -> Iterator[Json]:
    """The slots, each with what became of it."""
    outcomes = laid.standing(Attendance)
    for place in laid.every(Appointment):
        slot = place.entry
        assert isinstance(slot, Appointment)
        own = [] if place.withdrawn else [other for other in outcomes if _of(other, slot)]
        outcomes = [other for other in outcomes if other not in own]
        yield _appointment(case, [place, *own], zone)
    for place in outcomes:
        yield _appointment(case, [place], zone)


def _of(outcome: Place, slot: Appointment) -> bool:
    entry = outcome.entry
    assert isinstance(entry, Attendance)
    return entry.booked_for == slot.booked_for and entry.at in (None, slot.at) and entry.on >= slot.on


def _appointment(case: Case, places: Sequence[Place], zone: tzinfo) -> Json:
    slot = places[0].entry
    assert isinstance(slot, Appointment | Attendance)
    last = places[-1].entry
    outcome = last.outcome if isinstance(last, Attendance) else ""
    status = WITHDRAWN if places[0].withdrawn else _became(outcome)
    own = [] if places[0].withdrawn else list(map(extension, places))
    by = {"cancelled by patient": "pat", "cancelled by clinic": "prov"}.get(outcome)
    return without_nothing(
        {
            "resourceType": "Appointment",
            "id": case.names.of(slot),
            "extension": [case.belongs, *own],
            "status": status,
            "cancelationReason": concept("", coding(CANCELLED, by)) if by else None,
            **_when(slot.booked_for, slot.at, zone),
            "created": slot.recorded_at.isoformat() if isinstance(slot, Appointment) else None,
            "participant": [{"actor": to(case.patient), "status": "accepted"}],
        }
    )


def _became(outcome: str) -> str:
    if not outcome:
        return "booked"
    if outcome in MISSED:
        return "noshow"
    return "fulfilled" if outcome == "attended" else "cancelled"


def _when(booked_for: date, at: str | None, zone: tzinfo) -> Json:
    """Begin and end of a slot: what is not known is said to be unknown, as the standard wants both."""
    start = _start(booked_for, at, zone)
    if start is None:
        asked = [{"start": day(booked_for), "end": day(booked_for)}]
        return {"_start": UNKNOWN, "_end": UNKNOWN, "requestedPeriod": asked}
    return {"start": start.isoformat(), "_end": UNKNOWN}


def _start(booked_for: date, at: str | None, zone: tzinfo) -> datetime | None:
    if at is None:
        return None
    try:
        return on_the_clock(instant_at(booked_for, time.fromisoformat(at), zone), zone)
    except NoSuchTime:
        return None


def review(case: Case, due: date, laid: Laid) -> Json:
    """The review owed: ordered where the last visit said when, else proposed by the rules."""
    visits = [place.entry for place in laid.standing(Visit)]
    last = max(visits, key=lambda visit: visit.on, default=None)
    by_visit = isinstance(last, Visit) and last.interval == (due - last.on).days
    return {
        "resourceType": "Task",
        "id": case.names.beside("review"),
        "extension": [case.belongs],
        "status": "requested",
        "intent": "order" if by_visit else "proposal",
        "code": concept("review visit", coding(LOCAL, REVIEW)),
        "focus": to(case.episode),
        "for": to(case.patient),
        "restriction": {"period": {"end": day(due)}},
    }
