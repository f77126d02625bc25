"""The pieces that resources are put together from: names, codings, references, quantities."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date
from decimal import Decimal
from functools import cache
from typing import Any
from uuid import UUID, uuid5

from armrise.store.exchange.fhir.codes import ABSENCES, INCOMPLETE, Code, Unit, category_of, table
from armrise.store.exchange.fhir.systems import (
    ABSENT,
    CATEGORY,
    LOCAL,
    LOINC,
    NAMESPACE,
    SNOMED,
    STAFF,
    UCUM,
)
from armrise.store.record.clock import on_the_clock
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import Entry
from armrise.store.rules.pathway import Rules

Json = dict[str, Any]


def name_of(system: str, *words: str) -> str:
    """The name of a resource: the same words always give the same one, in every store.

    ``system`` is that of the codes of persons: two clinics with one each never share a name.
    """
    return str(uuid5(_namespace(system), "\n".join(words)))


@cache
def _namespace(system: str) -> UUID:
    return uuid5(NAMESPACE, system)


class Names:
    """The names of the resources of one case.

    An entry goes by its case, kind, day and instant of recording, and by its turn among those that share
    them: numbers differ from store to store, and words of the record are in no name.
    """

    def __init__(self, system: str, code: str) -> None:
        self.system = system
        self.code = code
        self._turns: Counter[tuple[str, ...]] = Counter()
        self._beside: dict[str, str] = {}

    def of(self, entry: Entry) -> str:
        """The name of the next entry; ask once for each, in the order of writing."""
        at = on_the_clock(entry.recorded_at, UTC).isoformat()
        said = (entry.KIND, entry.on.isoformat(), at)
        self._turns[said] += 1
        return name_of(self.system, "entry", self.code, *said, str(self._turns[said]))

    def beside(self, what: str) -> str:
        """The name of something the case has one of."""
        if what not in self._beside:
            self._beside[what] = name_of(self.system, what, self.code)
        return self._beside[what]


def to(name: str) -> Json:
    """A reference to a resource of the bundle."""
    return {"reference": f"urn:uuid:{name}"}


def person_of(initials: str) -> Json:
    """Somebody of the clinic, by initials: no resource of the bundle."""
    return {"type": "Practitioner", "identifier": {"system": STAFF, "value": initials}}


def coding(system: str, code: str, display: str = "") -> Json:
    """A code of a system."""
    return {"system": system, "code": code} | ({"display": display} if display else {})


def concept(text: str, *codings: Json) -> Json:
    """Something in codes and words."""
    return ({"coding": list(codings)} if codings else {}) | ({"text": text} if text else {})


def what(code: Code, words: str, *, snomed: bool) -> Json:
    """What an Observation is about: the standard's code first, then the record's own word."""
    told = [coding(LOINC, code.loinc, code.display)] if code.loinc else []
    told += [coding(SNOMED, code.snomed)] if code.snomed and snomed else []
    return concept(words, *told, coding(LOCAL, code.code))


def category(word: str, rules: Rules) -> list[Json]:
    """The category of an Observation."""
    return [{"coding": [coding(CATEGORY, category_of(word, rules))]}]


def shoulder(side: str, *, snomed: bool) -> Json:
    """One side, as bodySite says it."""
    named = table().sides[side]
    told = [coding(SNOMED, named.snomed, named.display)] if snomed else []
    return concept(named.words, *told, coding(LOCAL, side))


def value_of(value: Decimal | int | Absence | None, unit: Unit | None) -> Json:
    """The value of an Observation, or why there is none; None is a total that could not be made."""
    if value is None or isinstance(value, Absence):
        reason, own = INCOMPLETE if value is None else ABSENCES[value]
        more = [coding(LOCAL, own)] if own else []
        return {"dataAbsentReason": concept("", coding(ABSENT, reason), *more)}
    quantity: Json = {"value": value}
    if unit is not None:
        quantity |= {"unit": unit.words} | ({"system": UCUM, "code": unit.ucum} if unit.ucum else {})
    return {"valueQuantity": quantity}


def masked() -> Json:
    """That a value is kept back: what was withdrawn was wrong, and may be about somebody else."""
    return {"dataAbsentReason": concept("", coding(ABSENT, "masked"))}


def day(on: date) -> str:
    """A date."""
    return on.isoformat()


def without_nothing(resource: Json) -> Json:
    """The resource without elements that hold nothing: the standard knows no null and no empty list."""
    return {name: value for name, value in resource.items() if value not in (None, "", [], {})}
