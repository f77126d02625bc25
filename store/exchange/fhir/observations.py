"""Entries as Observations: measures, scores, sessions with their pain, mornings, stages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from armrise.store.exchange.fhir import codes
from armrise.store.exchange.fhir.carried import Laid, Place
from armrise.store.exchange.fhir.codes import OF_SESSION, Code, table
from armrise.store.exchange.fhir.pieces import (
    Json,
    Names,
    category,
    coding,
    concept,
    day,
    masked,
    name_of,
    person_of,
    shoulder,
    to,
    value_of,
    what,
    without_nothing,
)
from armrise.store.exchange.fhir.stated import extension
from armrise.store.exchange.fhir.systems import EPISODE, PATHWAY, WITHDRAWN
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.measured import Measure, Score, named_measure
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.plan import Step, pathway_code
from armrise.store.rules.pathway import Rules

BY_ELEMENT = ("on", "recorded")
"""What effectiveDateTime and issued say of every Observation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What every resource of a case needs to know of it."""

    code: str
    side: str
    patient: str
    """The name of its Patient."""
    names: Names
    rules: Rules
    snomed: bool

    @property
    def episode(self) -> str:
        """The name of its EpisodeOfCare."""
        return self.names.beside("episode")

    @property
    def belongs(self) -> Json:
        """The extension that says to which episode a resource belongs."""
        return {"url": EPISODE, "valueReference": to(self.episode)}


def observations(case: Case, laid: Laid) -> Iterator[Json]:
    """Every Observation of the case, kind by kind, each in the order of writing."""
    for place in laid.every(Measure):
        yield _measure(case, place)
    for place in laid.every(Score):
        yield _score(case, place)
    for place in laid.every(Morning):
        yield _morning(case, place)
    for place in laid.every(Session):
        yield from _session(case, place)
    for place in laid.every(Step):
        yield _step(case, place)


def _measure(case: Case, place: Place) -> Json:
    entry = place.entry
    assert isinstance(entry, Measure)
    words, _ = named_measure(entry.name, case.rules)
    code = table().codes[entry.name]
    return _observation(
        case,
        place,
        code,
        words,
        value_of(code, entry.value, entry.unit)
        | {
            "bodySite": shoulder(entry.side or case.side, snomed=case.snomed),
            "method": concept(entry.method) if entry.method else None,
        },
    )


def _score(case: Case, place: Place) -> Json:
    entry = place.entry
    assert isinstance(entry, Score)
    code = table().codes[entry.instrument]
    return _observation(case, place, code, f"{entry.instrument}, total", value_of(code, entry.total))


def _morning(case: Case, place: Place) -> Json:
    entry = place.entry
    assert isinstance(entry, Morning)
    code = table().codes[codes.WAKING]
    return _observation(case, place, code, codes.WAKING, _pain(case, code, entry.pain))


def _pain(case: Case, code: Code, score: int | codes.Absence) -> Json:
    return value_of(code, score) | {"bodySite": shoulder(case.side, snomed=case.snomed)}


def _session(case: Case, place: Place) -> Iterator[Json]:
    """The session as a panel, then its three scores: the last on the day after, when it was felt."""
    entry = place.entry
    assert isinstance(entry, Session)
    name = case.names.of(entry)
    scores = {field: name_of("score", name, field) for field in OF_SESSION}
    code = table().codes[codes.SESSION]
    yield _observation(
        case, place, code, codes.SESSION, {"hasMember": [to(score) for score in scores.values()]}, name=name
    )
    for field, score_name in scores.items():
        code = table().codes[OF_SESSION[field]]
        value = _pain(case, code, getattr(entry, field))
        on = entry.on + timedelta(days=field == "morning")
        yield _observation(case, place, code, code.code, value, name=score_name, on=on, member=True)


def _step(case: Case, place: Place) -> Json:
    entry = place.entry
    assert isinstance(entry, Step)
    code = table().codes[codes.STAGE]
    pathway = case.rules.pathways.get(pathway_code(entry.stage))
    stage = pathway.stage(entry.stage) if pathway else None
    words = stage.name if stage else entry.stage
    value = {"valueCodeableConcept": concept(words, coding(PATHWAY, entry.stage))}
    return _observation(case, place, code, codes.STAGE, value)


def _observation(
    case: Case,
    place: Place,
    code: Code,
    words: str,
    rest: Json,
    *,
    name: str = "",
    on: date | None = None,
    member: bool = False,
) -> Json:
    """An Observation; of what was withdrawn only which one it was, and that it does not stand."""
    entry = place.entry
    status = WITHDRAWN if place.withdrawn else "corrected" if place.replaces else "final"
    own: Sequence[Json] = [] if place.withdrawn or member else [extension(place, BY_ELEMENT)]
    if place.withdrawn:
        rest = masked()
    return without_nothing(
        {
            "resourceType": "Observation",
            "id": name or case.names.of(entry),
            "extension": [case.belongs, *own],
            "status": status,
            "category": category(code),
            "code": what(code, words, snomed=case.snomed),
            "subject": to(case.patient),
            "effectiveDateTime": day(on or entry.on),
            "issued": entry.recorded_at.isoformat(),
            "performer": [to(case.patient)]
            if entry.source == REPORTED
            else [person_of(entry.author)]
            if entry.author
            else None,
            **rest,
        }
    )
