"""The value of an Observation: a number in its unit, why there is none, or a fault."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from armrise.store.entries.words import shown
from armrise.store.exchange.fhir import codes
from armrise.store.exchange.fhir.codes import ABSENCES, INCOMPLETE, Code, Unit, unit_of
from armrise.store.exchange.fhir.indexed import Indexed, Json, Resource, coded, mapping
from armrise.store.exchange.fhir.systems import ABSENT, LOCAL, UCUM
from armrise.store.record.fields import rule_of
from armrise.store.record.kinds.measured import INSTRUMENTS, Measure
from armrise.store.rules.pathway import Rules

NOTHING = object()
"""No value: refused, or left out and counted."""
UNITS = rule_of(Measure, "unit").words


@dataclass
class Valued:
    """Reads the values of the Observations of a bundle."""

    found: Indexed
    rules: Rules
    left_out: Counter[str]

    def of(self, one: Resource, code: Code, unit: Any) -> Any:
        """The value of an Observation, an absence, None for a total that could not be made, or NOTHING."""
        values = [name for name in one.body if name.startswith("value") and name != "valueSet"]
        absent = one.body.get("dataAbsentReason")
        if len(values) > 1 or (values and absent is not None):
            self.found.fault(one, values[0], "stands beside another value or the reason that there is none")
        elif values == ["valueInteger"] and self._scored(code):
            return one.body["valueInteger"]
        elif values == ["valueQuantity"]:
            return self._number(one, code, mapping(one.body["valueQuantity"]), unit)
        elif values:
            self.found.fault(one, values[0], f"is not taken of {code.code}, allowed is valueQuantity")
        elif absent is None:
            self.found.fault(one, "value", "is missing, needed is valueQuantity or dataAbsentReason")
        else:
            return self._absence(one, code, absent)
        return NOTHING

    def _scored(self, code: Code) -> bool:
        """True for a rating that has no unit but its scale."""
        unit = unit_of(code.code, self.rules)
        return unit is not None and unit.words == codes.OF_TEN

    def _number(self, one: Resource, code: Code, quantity: Json, unit: Any) -> Any:
        needed = unit_of(code.code, self.rules, unit if unit in UNITS else None)
        if "comparator" in quantity:
            self.found.fault(one, "valueQuantity.comparator", "is not taken, needed is the value itself")
        elif needed and not _is_in(quantity, needed):
            told = shown(quantity.get("code", quantity.get("unit")))
            needs = f"{shown(needed.ucum)} of {UCUM}" if needed.ucum else shown(needed.words)
            self.found.fault(
                one, "valueQuantity.code", f"{told} is not the unit of {code.code}, needed is {needs}"
            )
        elif not isinstance(quantity.get("value"), int | Decimal) or isinstance(quantity["value"], bool):
            self.found.fault(one, "valueQuantity.value", f"{shown(quantity.get('value'))} is no number")
        else:
            return quantity["value"]
        return NOTHING

    def _absence(self, one: Resource, code: Code, reason: Any) -> Any:
        standard, own = coded(reason, ABSENT), coded(reason, LOCAL)
        for absence, (word, local) in ABSENCES.items():
            if standard == [word] and own == ([local] if local else []):
                return absence.value
        if standard == [INCOMPLETE[0]] and own == [INCOMPLETE[1]] and code.code in INSTRUMENTS:
            return None
        self.left_out[f"Observation of {code.code}, without a value for another reason"] += 1
        return NOTHING


def _is_in(quantity: Json, unit: Unit) -> bool:
    if unit.ucum:
        return (quantity.get("system"), quantity.get("code")) == (UCUM, unit.ucum)
    return quantity.get("unit") == unit.words
