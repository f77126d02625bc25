"""Whose a resource is: persons and cases by their codes, never by a guess."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from typing import Any

from armrise.store.entries.filed import FileCase
from armrise.store.entries.words import CaseHead, shown
from armrise.store.exchange.fhir.codes import table
from armrise.store.exchange.fhir.indexed import (
    Indexed,
    Resource,
    coded,
    identified,
    mapping,
    objects,
    several,
    text_of,
)
from armrise.store.exchange.fhir.stated import HEAD, stated
from armrise.store.exchange.fhir.systems import CASE, EPISODE, LOCAL, PATHWAY, SNOMED, STAFF, STATED

Known = Callable[[Collection[str], Collection[str]], Sequence[FileCase]]
"""The cases a store has of these persons, and those of these codes, with all their entries."""


def sides_of(concepts: Sequence[Any]) -> set[str]:
    """The shoulders that bodySite names, by our codes or by those of SNOMED CT; never by its words."""
    by_snomed = {side.snomed: name for name, side in table().sides.items()}
    own = {code for one in concepts for code in coded(one, LOCAL) if code in table().sides}
    return own | {by_snomed[c] for one in concepts for c in coded(one, SNOMED) if c in by_snomed}


def own_parts(body: Any) -> list[dict[str, Any]]:
    """What the extensions of the record's own say, one for each entry."""
    return [stated(one) for one in objects(mapping(body).get("extension")) if one.get("url") == STATED]


@dataclass
class Cases:
    """The persons and cases of a bundle, beside those that the store has of the same codes."""

    found: Indexed
    person_system: str
    known: dict[str, FileCase] = field(default_factory=dict[str, FileCase])
    """The cases that the store has, by code."""
    heads: dict[str, dict[str, Any]] = field(default_factory=dict[str, dict[str, Any]])
    """What is said of each case of the bundle, as a caseload file says it, by code."""
    episodes: dict[int, str] = field(default_factory=dict[int, str])
    """The code of each EpisodeOfCare, by the identity of the resource."""
    conditions: dict[int, str] = field(default_factory=dict[int, str])
    used: set[str] = field(default_factory=set[str])
    """The codes of the cases something is said of."""
    _told: set[tuple[str, str]] = field(default_factory=set[tuple[str, str]])

    def gather(self, known: Known) -> None:
        """Find every person and case, and what the store has of them."""
        persons = {person for one in self.found.resources for person in self._named_in(one)}
        for one in self.found.of("EpisodeOfCare"):
            codes = identified(one.body.get("identifier"), CASE)
            if len(codes) == 1:
                self.episodes[id(one)] = codes[0]
            elif codes:
                self.found.fault(one, "identifier", f"names {len(codes)} cases, a case has one code")
        self.known = {case.head.code: case for case in known(persons, set(self.episodes.values()))}
        for one in self.found.of("EpisodeOfCare"):
            if code := self.episodes.get(id(one)):
                if code in self.heads:
                    self.found.fault(one, "identifier", f"{shown(code)} is that of another EpisodeOfCare too")
                else:
                    self._head(one, code)

    def _named_in(self, one: Resource) -> list[str]:
        """The persons a resource names: as a Patient, or as its subject without one."""
        if one.type == "Patient":
            return self._persons(one)
        return identified([mapping(mapping(one.body.get("subject")).get("identifier"))], self.person_system)

    def _persons(self, patient: Resource) -> list[str]:
        return identified(patient.body.get("identifier"), self.person_system)

    def _head(self, episode: Resource, code: str) -> None:
        """What the bundle says of a case: what it leaves out is as in the store, or missing."""
        there = self.known.get(code)
        head = raw_head(there.head) if there else {"code": code}
        body = episode.body
        person = self.person(episode, "patient", body.get("patient"))
        if person:
            head["person"] = person
        start = text_of(mapping(body.get("period")).get("start"))[:10]
        if start:
            head["registered"] = start
        elif not there:
            self.found.fault(episode, "period.start", "is missing, needed is the day of registration")
        for initials in identified([mapping(mapping(body.get("careManager")).get("identifier"))], STAFF):
            head["clinician"] = initials
        for part in own_parts(body):
            if part.get("kind") == HEAD:
                head |= {name: part[name] for name in ("dominance", "age_band") if name in part}
        self._condition(episode, code, head, new=there is None)
        self.heads[code] = head
        self.used.add(code)

    def _condition(self, episode: Resource, code: str, head: dict[str, Any], *, new: bool) -> None:
        """Pathway and side, as the Condition of the episode says them."""
        referred = [one.get("condition") for one in objects(episode.body.get("diagnosis"))]
        led = [one for one in map(self.found.led_to, referred) if one and one.type == "Condition"]
        if not led:
            if new:
                say = "is missing, needed is a Condition with the pathway and the side of the new case"
                self.found.fault(episode, "diagnosis.condition", f"{say} {shown(code)}")
            return
        condition = led[0]
        self.conditions[id(condition)] = code
        pathways = coded(condition.body.get("code"), PATHWAY)
        sides = sides_of(several(condition.body.get("bodySite")))
        if len(pathways) == 1:
            head["pathway"] = pathways[0]
        elif new or pathways:
            say = f"needed is one pathway, as a code of {PATHWAY}"
            self.found.fault(condition, "code", f"says {len(pathways)} pathways, {say}")
        if len(sides) == 1:
            head["side"] = sides.pop()
        elif new or sides:
            self.found.fault(condition, "bodySite", f"says {len(sides)} sides, needed is LEFT or RIGHT")

    def person(self, where: Resource, element: str, reference: Any) -> str | None:
        """The code of the person a Reference leads to; None with a fault, each said once of a patient."""
        persons = identified([mapping(mapping(reference).get("identifier"))], self.person_system)
        patient = self.found.led_to(reference)
        if patient is not None and patient.type == "Patient":
            persons = self._persons(patient)
        elif not persons:
            named = mapping(reference).get("reference")
            say = "is missing, needed is a Patient" if named is None else f"{shown(named)} is no Patient"
            self.found.fault(where, element, f"{say} of the bundle")
            return None
        if len(persons) == 1:
            return persons[0]
        of = patient or where
        say = "names no person by a code" if not persons else f"names {len(persons)} persons"
        self._once(of, "identifier", f"{say}, needed is one of the system {self.person_system}")
        return None

    def _once(self, where: Resource, element: str, message: str) -> None:
        if (where.label, message) not in self._told:
            self._told.add((where.label, message))
            self.found.fault(where, element, message)

    def of(self, where: Resource, reference: Any, sides: set[str], element: str = "subject") -> str | None:
        """The code of the case a resource belongs to; None with a fault."""
        person = self.person(where, element, reference)
        if person is None:
            return None
        episode = self._episode(where)
        code = (
            self._by_person(where, element, person, sides)
            if episode is None
            else self._of_episode(where, episode)
        )
        if code is None:
            return None
        self.used.add(code)
        owner = self.heads[code].get("person") if code in self.heads else self.known[code].head.person
        if owner != person:
            say = f"{shown(person)} is not the person of the case {shown(code)}"
            self.found.fault(where, element, say)
            return None
        return code

    def is_ours(self, where: Resource) -> bool:
        """True for a resource of a case of the bundle."""
        led = self.found.led_to(self._episode(where))
        return led is not None and id(led) in self.episodes

    def _episode(self, where: Resource) -> Any:
        """The Reference to the episode, None where the resource names none."""
        for one in objects(where.body.get("extension")):
            if one.get("url") == EPISODE:
                return one.get("valueReference")
        return next(iter(several(where.body.get("episodeOfCare"))), None)

    def _of_episode(self, where: Resource, reference: Any) -> str | None:
        led = self.found.led_to(reference)
        code = self.episodes.get(id(led)) if led else None
        if code is None:
            say = (
                f"{shown(mapping(reference).get('reference'))} is no EpisodeOfCare of the bundle with a case"
            )
            self.found.fault(where, "episodeOfCare", say)
        return code if code in self.heads else None

    def _by_person(self, where: Resource, element: str, person: str, sides: set[str]) -> str | None:
        """The only case of the person, or the only one of the side."""
        of_store = {c.head.code: c.head.side for c in self.known.values() if c.head.person == person}
        of_bundle = {
            code: str(head.get("side")) for code, head in self.heads.items() if head.get("person") == person
        }
        every = of_store | of_bundle
        here = [code for code, side in every.items() if side in sides] if sides else []
        fitting = here if len(every) > 1 or not every else list(every)
        if len(fitting) == 1:
            return fitting[0]
        if not every:
            self._once(where, element, f"{shown(person)} has no case, neither here nor in the bundle")
        else:
            say = f"{shown(person)} has {len(every)} cases ({', '.join(sorted(every))})"
            self.found.fault(where, element, f"{say}, which one is not told")
        return None


def raw_head(head: CaseHead) -> dict[str, Any]:
    """A head as a caseload file says it."""
    told = {
        "registered" if name == "registered_on" else name: getattr(head, name)
        for name in CaseHead.__dataclass_fields__
    }
    told["registered"] = head.registered_on.isoformat()
    return {name: value for name, value in told.items() if value}
