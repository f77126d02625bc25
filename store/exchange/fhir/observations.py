"""Entries as Observations: measures, scores, sessions with their pain, mornings, stages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from armrise.store.exchange.fhir import codes
from armrise.store.exchange.fhir.carried import Laid, Place
from armrise.store.exchange.fhir.codes import OF_SESSION, code_of, unit_of
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
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import REPORTED, Entry
from armrise.store.record.kinds.measured import Measure, Score, named_measure
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.plan import Step, pathway_code
from armrise.store.rules.pathway import Rules

BY_ELEMENT = ("on", "recorded")
"""What effectiveDateTime and issued say of every Observation."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What every resource of a case needs to know of it."""

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
    value = value_of(entry.value, unit_of(entry.name, case.rules, entry.unit))
    value["bodySite"] = shoulder(entry.side or case.side, snomed=case.snomed)
    value["method"] = concept(entry.method) if entry.method else None
    return _observation(case, place, entry.name, words, value)


def _score(case: Case, place: Place) -> Json:
    entry = place.entry
    assert isinstance(entry, Score)
    value = value_of(entry.total, unit_of(entry.instrument, case.rules))
    return _observation(case, place, entry.instrument, f"{entry.instrument}, total", value)


def _morning(case: Case, place: Place) -> Json:
    entry = place.entry
    assert isinstance(entry, Morning)
    return _observation(case, place, codes.WAKING, codes.WAKING, _pain(case, codes.WAKING, entry.pain))


def _pain(case: Case, word: str, score: int | Absence) -> Json:
    return value_of(score, unit_of(word, case.rules)) | {"bodySite": shoulder(case.side, snomed=case.snomed)}


def _session(case: Case, place: Place) -> Iterator[Json]:
    """The session as a panel, then its three scores: the last on the day after, when it was felt."""
    entry = place.entry
    assert isinstance(entry, Session)
    name = case.names.of(entry)
    scores = {field: name_of(case.names.system, "score", name, field) for field in OF_SESSION}
    members = {"hasMember": [to(score) for score in scores.values()]}
    yield _observation(case, place, codes.SESSION, codes.SESSION, members, name=name)
    for field, score in scores.items():
        word = OF_SESSION[field]
        value = _pain(case, word, getattr(entry, field))
        on = entry.on + timedelta(days=field == "morning")
        yield _observation(case, place, word, word, value, name=score, on=on)


def _step(case: Case, place: Place) -> Json:
    entry = place.entry
    assert isinstance(entry, Step)
    pathway = case.rules.pathways.get(pathway_code(entry.stage))
    stage = pathway.stage(entry.stage) if pathway else None
    words = stage.name if stage else entry.stage
    value = {"valueCodeableConcept": concept(words, coding(PATHWAY, entry.stage))}
    return _observation(case, place, codes.STAGE, codes.STAGE, value)


def _observation(
    case: Case, place: Place, word: str, words: str, rest: Json, *, name: str = "", on: date | None = None
) -> Json:
    """An Observation; of what was withdrawn only which one it was, and that it does not stand."""
    entry = place.entry
    status = WITHDRAWN if place.withdrawn else "corrected" if place.replaces else "final"
    # A score of a session says what it says by itself; its session tells the rest.
    tells = not place.withdrawn and word not in OF_SESSION.values()
    return without_nothing(
        {
            "resourceType": "Observation",
            "id": name or case.names.of(entry),
            "extension": [case.belongs, *([extension(place, BY_ELEMENT)] if tells else [])],
            "status": status,
            "category": category(word, case.rules),
            "code": what(code_of(word), words, snomed=case.snomed),
            "subject": to(case.patient),
            "effectiveDateTime": day(on or entry.on),
            "issued": entry.recorded_at.isoformat(),
            "performer": _performer(case, entry),
            **(masked() if place.withdrawn else rest),
        }
    )


def _performer(case: Case, entry: Entry) -> list[Json]:
    """Who told or measured it: the patient, or somebody of the clinic where that is known."""
    if entry.source == REPORTED:
        return [to(case.patient)]
    return [person_of(entry.author)] if entry.author else []
