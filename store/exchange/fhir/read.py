"""A FHIR R4 bundle as a caseload file: what of it the record can hold, checked as every file is.

Known codes are taken, others are counted; what is known and cannot be right refuses the whole bundle, in one
sentence with the resource, the element and the value. What the store has already is recognised by what a
bundle can say of it, so that a bundle taken twice, or one written here, adds nothing.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict, deque
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from armrise.store.caseload.taking.recognise import content
from armrise.store.entries.filed import Beside, CaseloadFile, FileCase
from armrise.store.entries.words import Fault, shown
from armrise.store.exchange.fhir.carried import carried
from armrise.store.exchange.fhir.cases import Cases, Known, own_parts, raw_head
from armrise.store.exchange.fhir.indexed import (
    Indexed,
    Json,
    Resource,
    coded,
    indexed,
    mapping,
    objects,
    several,
    text_of,
)
from armrise.store.exchange.fhir.observed import Observed, Raw
from armrise.store.exchange.fhir.pieces import Names
from armrise.store.exchange.fhir.stated import HEAD
from armrise.store.exchange.fhir.systems import LOCAL, PERSON, REASON, REVIEW, WITHDRAWN
from armrise.store.exchange.fhir.valued import Valued
from armrise.store.exchange.into.caseload_parser import FORMAT_OF_A_STORE, CaseloadRefused, Parser
from armrise.store.record.clock import clinic_zone
from armrise.store.record.kinds.care import Appointment, Attendance, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction, Discharge, Reopen
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.kinds.safety import Onset
from armrise.store.record.known import withdrawn_ids
from armrise.store.rules.pathway import Rules

HOSTS: Mapping[str, tuple[str, ...]] = {
    "EpisodeOfCare": (Discharge.KIND, Reopen.KIND),
    "Condition": (Onset.KIND,),
    "Encounter": (Visit.KIND,),
    "CarePlan": (ProgrammeItem.KIND,),
    "Appointment": (Appointment.KIND, Attendance.KIND),
}
"""The kinds of entry that each resource may tell of, in its extensions."""
SUBJECT = {"EpisodeOfCare": "patient", "Appointment": "participant.actor"}
ELEMENTS = {
    "value": "valueQuantity.value",
    "total": "valueQuantity.value",
    "pain": "valueQuantity.value",
    "on": "effectiveDateTime",
    "recorded": "issued",
}
"""What the fields of an entry that is an Observation are called in it."""
CHANGED = "the store has this entry, and it says something else: a bundle changes nothing, correct it here"
_NUMBERED = re.compile(r"entry (\d+)(?! of the store)")


@dataclass(frozen=True)
class Bundle:
    """A bundle as a caseload; ``left_out`` counts what of it is not taken, by what it is."""

    caseload: CaseloadFile
    left_out: Counter[str]
    resources: Mapping[tuple[str, int], Resource]
    """The resource of each entry, by case and position in the file."""

    def named(self, faults: Iterable[Fault]) -> list[Fault]:
        """Faults that name an entry by its position, naming its resource instead."""
        return [_by_resource(fault, self.resources) for fault in faults]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clinic:
    """The store a bundle is read for."""

    today: date
    zone: str
    known: Known
    rules: Rules
    beside: Beside = Beside()
    person_system: str = PERSON


def read_bundle(data: Json, name: str, clinic: Clinic) -> Bundle:
    """The bundle that decoded JSON states. Raises :class:`CaseloadRefused` with every fault at once."""
    found = indexed(data)
    if found.faults:
        raise CaseloadRefused(name, found.faults)
    cases = Cases(found, clinic.person_system)
    cases.gather(clinic.known)
    left_out: Counter[str] = Counter()
    values = Valued(found, clinic.rules, left_out)
    observed = Observed(found, cases, clinic_zone(clinic.zone), clinic.rules, left_out, values)
    observed.read()
    raw = [*observed.raw, *_hosted(found, cases, left_out)]
    if found.without:
        left_out["entry without a resource"] += found.without
    if not found.faults and not cases.used:
        found.fault(None, "", f"holds nothing that armrise takes{_counted(left_out)}")
    if found.faults:
        raise CaseloadRefused(name, found.faults)
    return _parsed(name, clinic, cases, raw, left_out, fictional=is_fictional(data))


def is_fictional(data: Json) -> bool:
    """True where the bundle says that it holds test health data, and nobody's."""
    security = objects(mapping(data.get("meta")).get("security"))
    return any(one.get("system") == REASON and one.get("code") == "HTEST" for one in security)


def _counted(left_out: Counter[str]) -> str:
    first = left_out.most_common(3)
    said = ", ".join(f"{times} {what}" for what, times in first)
    more = f" and {len(left_out) - len(first)} more" if len(left_out) > len(first) else ""
    return f": {said}{more}" if said else ", it is empty"


def _hosted(found: Indexed, cases: Cases, left_out: Counter[str]) -> list[Raw]:
    """The entries that resources of care tell of in the record's own extensions; other resources counted."""
    raw: list[Raw] = []
    for one in found.resources:
        if one.type in ("Observation", "Patient"):
            continue
        parts = [part for part in _parts(one) if part.get("kind") != HEAD]
        if one.body.get("status") == WITHDRAWN and one.type in HOSTS:
            left_out[f"{one.type} with status {WITHDRAWN}"] += 1
        elif parts and one.type in HOSTS:
            raw += _entries(found, cases, one, parts)
        elif id(one) not in cases.episodes and id(one) not in cases.conditions and not _follows(cases, one):
            left_out[one.type[:40]] += 1
    return raw


def _follows(cases: Cases, one: Resource) -> bool:
    """True for what an export of armrise holds beside the entries, and the record says without it."""
    empty = one.type == "CarePlan" and not several(one.body.get("activity"))
    review = one.type == "Task" and coded(one.body.get("code"), LOCAL) == [REVIEW]
    return (empty or review) and cases.is_ours(one)


def _parts(one: Resource) -> list[Json]:
    if one.type == "CarePlan":
        return [part for activity in objects(one.body.get("activity")) for part in own_parts(activity)]
    return own_parts(one.body)


def _entries(found: Indexed, cases: Cases, one: Resource, parts: Sequence[Json]) -> list[Raw]:
    case = cases.episodes.get(id(one)) or _case(cases, one)
    raw: list[Raw] = []
    for part in parts if case else ():
        kind, number = part.get("kind"), part.pop("number", None)
        if kind not in HOSTS[one.type]:
            found.fault(one, "extension", f"{shown(kind)} is no entry that a {one.type} tells of")
        else:
            place = number if isinstance(number, int) else float("inf")
            raw.append(Raw(case or "", place, part, one))
    return raw


def _case(cases: Cases, one: Resource) -> str | None:
    reference: Any = one.body.get("subject")
    if one.type == "Appointment":
        actors = [part.get("actor") for part in objects(one.body.get("participant"))]
        led = ((actor, cases.found.led_to(actor)) for actor in actors)
        reference = next((actor for actor, to in led if to and to.type == "Patient"), None)
    return cases.of(one, reference, set(), SUBJECT.get(one.type, "subject"))


def _parsed(
    name: str, clinic: Clinic, cases: Cases, raw: Iterable[Raw], left_out: Counter[str], *, fictional: bool
) -> Bundle:
    """The same as a caseload file, read as one."""
    by_case: defaultdict[str, list[Raw]] = defaultdict(list)
    for one in raw:
        by_case[one.case].append(one)
    codes = list(dict.fromkeys([*cases.heads, *sorted(cases.used)]))
    of: dict[tuple[str, int], Resource] = {}
    told: list[Json] = []
    for code in codes:
        entries = sorted(by_case[code], key=lambda one: one.number)
        of |= {(code, position): one.of for position, one in enumerate(entries, 1)}
        head = cases.heads.get(code) or raw_head(cases.known[code].head)
        told.append({**head, "entries": [one.entry for one in entries]})
    top = {"format": FORMAT_OF_A_STORE, "clinic_date": clinic.today.isoformat(), "zone": clinic.zone}
    file = {**top, "fictional": fictional, "cases": told}
    try:
        caseload = Parser(name, clinic.rules, clinic.beside).file(file)
    except CaseloadRefused as refused:
        raise CaseloadRefused(name, [_by_resource(fault, of) for fault in refused.faults]) from None
    faults: list[Fault] = []
    made = tuple(_recognised(case, cases.known, clinic.person_system, of, faults) for case in caseload.cases)
    if faults:
        raise CaseloadRefused(name, faults)
    return Bundle(replace(caseload, cases=made), left_out, of)


def _by_resource(fault: Fault, of: Mapping[tuple[str, int], Resource]) -> Fault:
    match = _NUMBERED.match(fault.entry)
    resource = of.get((fault.case, int(match[1]))) if match else None
    if match is None or resource is None:
        return fault
    named = ELEMENTS.get(fault.field, fault.field) if resource.type == "Observation" else fault.field
    return replace(fault, entry=f"{resource.label}{fault.entry[match.end() :]}", field=named)


def _recognised(
    case: FileCase,
    known: Mapping[str, FileCase],
    system: str,
    of: Mapping[tuple[str, int], Resource],
    faults: list[Fault],
) -> FileCase:
    """The case with every entry that the store has as the store has it, with the words it has there.

    An entry that goes by the name of one of the store and says something else is refused: nothing is changed.
    """
    code = case.head.code
    if code not in known:
        return case
    there = Theirs(known[code], system)
    taken = [there.same(entry) for entry in case.entries]
    for position, (said, same) in enumerate(zip(case.entries, taken, strict=True), 1):
        resource = of[code, position]
        if same is None and there.changed(said, text_of(resource.body.get("id"))):
            entry = f"{resource.label} ({said.KIND} of {said.on.isoformat()})"
            faults.append(Fault(code, entry, "", CHANGED))
    return replace(case, entries=tuple(same or said for said, same in zip(case.entries, taken, strict=True)))


class Theirs:
    """What the store has of a case, by what a bundle would say of it and by the name it would go by."""

    def __init__(self, case: FileCase, system: str) -> None:
        numbered = [replace(e, id=number) for number, e in enumerate(case.entries, 1)]
        gone = withdrawn_ids(e for e in numbered if isinstance(e, Correction))
        names = Names(system, case.head.code)
        self._by_content: defaultdict[Hashable, deque[Entry]] = defaultdict(deque)
        self._by_name: dict[str, Entry] = {}
        self._found: set[int] = set()
        goes = [(entry, one) for entry in numbered if (one := carried(entry)) is not None]
        self._by_name = {names.of(entry): entry for entry, _ in goes}
        for entry, one in sorted(goes, key=lambda pair: pair[0].id in gone):
            self._by_content[content(one)].append(entry)

    def same(self, said: Entry) -> Entry | None:
        """The entry of the store that says the same, each once; those that stand first."""
        pool = self._by_content.get(content(said))
        if not pool:
            return None
        found = pool.popleft()
        self._found.add(found.id)
        return replace(found, id=0)

    def changed(self, said: Entry, name: str) -> bool:
        """True where the store has an entry of that name, and nothing of the bundle says what it says."""
        there = self._by_name.get(name)
        return there is not None and there.KIND == said.KIND and there.id not in self._found
