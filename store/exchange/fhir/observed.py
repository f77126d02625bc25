"""Observations into raw entries: known codes are taken, others counted, and nothing is guessed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from typing import Any

from armrise.store.entries.words import shown
from armrise.store.exchange.fhir import codes
from armrise.store.exchange.fhir.cases import Cases, own_parts, sides_of
from armrise.store.exchange.fhir.codes import (
    OF_SESSION,
    WORDS,
    Code,
    category_of,
    code_of,
    table,
)
from armrise.store.exchange.fhir.indexed import (
    Indexed,
    Json,
    Resource,
    coded,
    mapping,
    objects,
    several,
    text_of,
)
from armrise.store.exchange.fhir.systems import LOCAL, LOINC, PATHWAY, STANDS
from armrise.store.exchange.fhir.valued import NOTHING, Valued
from armrise.store.record.clock import on_the_clock
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.measured import INSTRUMENTS, MEASURES, Measure, Score
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.plan import Step
from armrise.store.rules.pathway import Rules

FROM_RECORDS = "clinic records"
"""The source of what another program measured: nobody here did, nor did the patient tell it here."""
MEMBER_ALONE = "outside an exercise session"


@dataclass
class Raw:
    """An entry as a caseload file states it, with the case it belongs to and the resource it came of."""

    case: str
    number: int | float
    entry: Json
    of: Resource


@dataclass
class Observed:
    """Reads the Observations of a bundle."""

    found: Indexed
    cases: Cases
    zone: tzinfo
    rules: Rules
    left_out: Counter[str]
    values: Valued
    raw: list[Raw] = field(default_factory=list[Raw])
    members: dict[int, str] = field(default_factory=dict[int, str])
    """The Observations that are a score of a session, each with the name of that session."""

    def read(self) -> None:
        """Every Observation of the bundle."""
        for one in self.found.of("Observation"):
            self._note_members(one)
        for one in self.found.of("Observation"):
            if id(one) not in self.members:
                self._one(one)

    def _note_members(self, panel: Resource) -> None:
        if coded(panel.body.get("code"), LOCAL) != [codes.SESSION]:
            return
        for reference in several(panel.body.get("hasMember")):
            led = self.found.led_to(reference)
            if led is None:
                self.found.fault(
                    panel, "hasMember", f"{shown(mapping(reference).get('reference'))} is not in the bundle"
                )
            elif self.members.setdefault(id(led), panel.label) != panel.label:
                self.found.fault(led, "", f"is a score of two sessions, {panel.label} is one of them")

    def _one(self, one: Resource) -> None:
        named = self._named(one)
        if named is None or not self._stands(one):
            return
        code, told_side = named
        if code.code in OF_SESSION.values():
            self.left_out[f"Observation of {code.code}, {MEMBER_ALONE}"] += 1
            return
        sides = sides_of([one.body.get("bodySite")]) | ({told_side} if told_side else set[str]())
        if len(sides) > 1:
            self.found.fault(one, "bodySite", "says both sides, needed is one")
            return
        case = self.cases.of(one, one.body.get("subject"), sides)
        if case is None:
            return
        entry = self._head(one, code)
        fill = self._filler(code)
        if entry is not None and fill(one, code, entry, (case, sides)):
            number = entry.pop("number", None)
            place = number if isinstance(number, int) else float("inf")
            self.raw.append(Raw(case, place, entry, one))

    def _filler(self, code: Code) -> Callable[[Resource, Code, Json, tuple[str, set[str]]], bool]:
        if code.code == codes.SESSION:
            return self._session
        if code.code == codes.STAGE:
            return self._stage
        return self._value

    def _named(self, one: Resource) -> tuple[Code, str] | None:
        """What is observed, and the side where its code names one; None: counted, or refused."""
        concept = one.body.get("code")
        own = [word for word in coded(concept, LOCAL) if word in WORDS]
        loinc = coded(concept, LOINC)
        for code in loinc:
            if not codes.has_check_digit(code):
                self.found.fault(one, "code", f"{shown(code)} is no code that LOINC can have: its last digit")
                return None
        meant = {pair for code in loinc for pair in table().by_loinc.get(code, ())}
        if len(set(own)) > 1 or (not own and len({code for code, _ in meant}) > 1):
            if own or len({c for c in loinc if c in table().by_loinc}) > 1:
                self.found.fault(one, "code", "says two different things, needed is one")
            else:
                self.left_out[f"Observation {loinc[0]} of {LOINC}, without when the pain was felt"] += 1
            return None
        if own:
            return self._agreed(one, own[0], loinc)
        if meant:
            code, side = meant.pop()
            return code_of(code), side
        self.left_out[f"Observation {_first_code(concept)}"] += 1
        return None

    def _agreed(self, one: Resource, own: str, loinc: list[str]) -> tuple[Code, str] | None:
        """Our own word, with the LOINC codes beside it, which have to mean the same."""
        code = code_of(own)
        sides = {number: side for side, number in {"": code.loinc, **code.sided}.items() if number}
        for number in loinc:
            if number not in sides:
                needed = f"needed is {shown(code.loinc)}" if code.loinc else "LOINC has none"
                self.found.fault(one, "code", f"{shown(number)} is no LOINC code of {own}, {needed}")
                return None
        return code, next((sides[number] for number in loinc if sides[number]), "")

    def _stands(self, one: Resource) -> bool:
        status = one.body.get("status")
        if status not in STANDS:
            self.left_out[f"Observation with status {text_of(status)}"] += 1
        return status in STANDS

    def _head(self, one: Resource, code: Code) -> Json | None:
        """What every entry states: its kind, day and recording, who and whence."""
        kind = _kind(code)
        own = own_parts(one.body)
        if len(own) > 1 or (own and own[0].get("kind") != kind):
            self.found.fault(one, "extension", f"tells of another entry than a {kind}, which the code says")
            return None
        on = self._day(one)
        if on is None:
            return None
        entry: Json = dict(own[0]) if own else {"source": self._source(one)}
        entry |= {"kind": kind, "on": on}
        recorded = one.body.get("issued", _instant(one))
        return entry | ({"recorded": recorded} if recorded is not None else {})

    def _source(self, one: Resource) -> str:
        led = [self.found.led_to(reference) for reference in several(one.body.get("performer"))]
        return REPORTED if any(by and by.type == "Patient" for by in led) else FROM_RECORDS

    def _day(self, one: Resource) -> str | None:
        """The clinic date it happened on; an instant counts on the clinic's clock."""
        told = one.body.get("effectiveDateTime", one.body.get("effectiveInstant"))
        if told is None:
            other = next((name for name in one.body if name.startswith("effective")), "")
            say = f"{other} is not taken, needed" if other else "is missing, needed"
            self.found.fault(one, "effectiveDateTime", f"{say} is a day or an instant")
            return None
        try:
            return date.fromisoformat(told).isoformat()
        except (TypeError, ValueError):
            pass
        try:
            at = datetime.fromisoformat(told)
            if at.tzinfo is not None:
                return on_the_clock(at, self.zone).date().isoformat()
        except (TypeError, ValueError, OverflowError):
            pass
        say = "is neither a day such as 2026-02-27 nor an instant with its offset"
        self.found.fault(one, "effectiveDateTime", f"{shown(told)} {say}")
        return None

    def _value(self, one: Resource, code: Code, entry: Json, where: tuple[str, set[str]]) -> bool:
        """One value: a measure, a total, a morning."""
        value = self.values.of(one, code, entry.get("unit"))
        if value is NOTHING:
            return False
        entry |= _named_as(code.code)
        if code.code in INSTRUMENTS:
            return _put(entry, "total", value)
        if code.code == codes.WAKING:
            return _put(entry, "pain", value) and self._same_side(one, where)
        return _put(entry, "value", value) and self._side(one, code, entry, where)

    def _side(self, one: Resource, code: Code, entry: Json, where: tuple[str, set[str]]) -> bool:
        """The side measured, which has to be told of a range: that of the case is the affected one."""
        case, sides = where
        affected = self._affected(case)
        if own_parts(one.body):
            if sides and sides != {text_of(entry.get("side")) or affected}:
                self.found.fault(one, "bodySite", f"{sides.pop()} is not the side the entry tells")
                return False
            return True
        if not sides and (category_of(code.code, self.rules) == "exam" or "bodySite" in one.body):
            self.found.fault(
                one, "bodySite", "does not say which shoulder, needed is LEFT or RIGHT by a code"
            )
            return False
        if sides and sides != {affected}:
            entry["side"] = sides.pop()
        return True

    def _same_side(self, one: Resource, where: tuple[str, set[str]]) -> bool:
        case, sides = where
        if sides and sides != {self._affected(case)}:
            self.found.fault(one, "bodySite", f"{sides.pop()} is not the side of the case {shown(case)}")
            return False
        return True

    def _affected(self, case: str) -> str:
        head = self.cases.heads.get(case)
        return text_of(head.get("side")) if head else self.cases.known[case].head.side

    def _session(self, one: Resource, code: Code, entry: Json, where: tuple[str, set[str]]) -> bool:
        """A session with its scores, each an Observation of its own."""
        by_code = {word: name for name, word in OF_SESSION.items()}
        for reference in several(one.body.get("hasMember")):
            score = self.found.led_to(reference)
            named = self._named(score) if score else None
            if score is None or named is None:
                continue
            name = by_code.get(named[0].code)
            if name is None or name in entry:
                self.found.fault(
                    score, "code", f"{named[0].code} is no score of a session, or one told twice"
                )
                return False
            value = self.values.of(score, named[0], None) if self._stands(score) else NOTHING
            if value is NOTHING or not self._same_side(
                score, (where[0], sides_of([score.body.get("bodySite")]))
            ):
                return False
            _put(entry, name, value)
        return True

    def _stage(self, one: Resource, code: Code, entry: Json, where: tuple[str, set[str]]) -> bool:
        stages = coded(one.body.get("valueCodeableConcept"), PATHWAY)
        if len(stages) != 1:
            say = f"names {len(stages)} stages, needed is one as a code of {PATHWAY}"
            self.found.fault(one, "valueCodeableConcept", say)
            return False
        entry["stage"] = stages[0]
        return True


def _kind(code: Code) -> str:
    if code.code in MEASURES:
        return Measure.KIND
    if code.code in INSTRUMENTS:
        return Score.KIND
    return {codes.SESSION: Session.KIND, codes.STAGE: Step.KIND, codes.WAKING: Morning.KIND}[code.code]


def _named_as(word: str) -> Json:
    if word in MEASURES:
        return {"name": word}
    return {"instrument": word} if word in INSTRUMENTS else {}


def _put(entry: Json, name: str, value: Any) -> bool:
    if value is not None:
        entry[name] = value
    return True


def _instant(one: Resource) -> Any:
    """When it was observed, where that is told as an instant: it was recorded no earlier."""
    told = text_of(one.body.get("effectiveDateTime", one.body.get("effectiveInstant")))
    return told if "T" in told else None


def _first_code(concept: Any) -> str:
    for one in objects(mapping(concept).get("coding")):
        if code := text_of(one.get("code")):
            return f"{code[:40]} of {text_of(one.get('system'))[:60] or 'no system'}"
    return "without a code"
