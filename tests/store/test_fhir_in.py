"""A FHIR R4 bundle taken in: known codes taken, others counted, what cannot be right refused.

What the models of fhir.resources let pass (a status, a range, a dead reference, a value missing) is planted
here; the examples of the HL7 specification come from outside.
"""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from armrise.store.entries.filed import CaseloadFile, FileCase
from armrise.store.exchange.fhir.bundle import as_text
from armrise.store.exchange.fhir.read import Bundle, read_bundle
from armrise.store.exchange.fhir.systems import (
    ABSENT,
    LOCAL,
    LOINC,
    PERSON,
    SNOMED,
    UCUM,
)
from armrise.store.exchange.into.caseload_parser import CaseloadRefused
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.measured import Measure
from tests.store import drafts
from tests.store.bundles import (
    RULES,
    Json,
    clinic,
    decoded,
    one_case,
    three,
)

EXAMPLES = Path(__file__).parent / "fixtures" / "fhir-examples.json"


# what comes in


def observation(code: Any, value: Json, **more: Any) -> Json:
    coding = code if isinstance(code, list) else [{"system": LOINC, "code": code}]
    return {
        "resourceType": "Observation",
        "id": "o1",
        "status": "final",
        "code": {"coding": coding},
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": "2026-02-27",
        "bodySite": {"coding": [{"system": SNOMED, "code": "91775009"}]},
        **value,
        **more,
    }


def angle(**more: Any) -> Json:
    return observation("41389-8", degrees(1), **more)


def degrees(value: Any, code: str = "deg") -> Json:
    return {"valueQuantity": {"value": value, "system": UCUM, "code": code}}


PATIENT = {"resourceType": "Patient", "id": "p", "identifier": [{"system": PERSON, "value": "P-T-1"}]}
THERE = one_case(drafts.draft("visit", date(2026, 2, 2)))


def of(*made: Json, sort: str = "collection") -> Json:
    return {"resourceType": "Bundle", "type": sort, "entry": [{"resource": one} for one in made]}


def taken(*made: Json, known: CaseloadFile = THERE, system: str = PERSON) -> Bundle:
    return read_bundle(of(*copy.deepcopy(made)), "bundle", clinic(THERE, *known.cases, system=system))


def refused(*made: Json, known: CaseloadFile = THERE) -> str:
    with pytest.raises(CaseloadRefused) as caught:
        taken(*made, known=known)
    return str(caught.value).partition("\n")[2]


def test_an_observation_from_elsewhere_is_taken_by_its_code() -> None:
    """Nobody here measured it: its source says so; an instant counts on the clinic's clock."""
    made = observation("41388-0", degrees(Decimal("42.5")), effectiveDateTime="2026-02-27T23:30:00-01:00")
    (case,) = taken(PATIENT, made).caseload.cases
    (entry,) = case.entries
    assert isinstance(entry, Measure)
    assert (entry.name, entry.value, entry.side) == ("passive_external_rotation", Decimal("42.5"), None)
    assert (entry.on, entry.source) == (date(2026, 2, 28), "clinic records")
    assert entry.recorded_at == datetime(2026, 2, 28, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("made", "side", "source"),
    [
        (observation("41295-7", degrees(160), bodySite=None), None, "clinic records"),
        (observation("41307-0", degrees(160), bodySite=None), "RIGHT", "clinic records"),
        (
            observation("41389-8", degrees(160), bodySite={"coding": [{"system": LOCAL, "code": "RIGHT"}]}),
            "RIGHT",
            "clinic records",
        ),
        (observation("41389-8", degrees(160), performer=[{"reference": "Patient/p"}]), None, REPORTED),
    ],
)
def test_the_side_is_that_of_the_code_or_of_body_site(made: Json, side: str | None, source: str) -> None:
    made = {name: value for name, value in made.items() if value is not None}
    entry = taken(PATIENT, made).caseload.cases[0].entries[0]
    assert isinstance(entry, Measure)
    assert (entry.side, entry.source) == (side, source)


def test_a_bundle_of_another_clinic_goes_by_another_system() -> None:
    patient = {**PATIENT, "identifier": [{"system": "urn:oid:2.999.1", "value": "P-T-1"}]}
    made = observation("41389-8", degrees(160))
    assert taken(patient, made, system="urn:oid:2.999.1").caseload.cases
    assert "names no person by a code" in refused(patient, made)


@pytest.mark.parametrize(
    ("made", "left"),
    [
        (observation("29463-7", degrees(80)), "Observation 29463-7 of http://loinc.org"),
        (
            observation("72514-3", {"valueInteger": 4}),
            "Observation 72514-3 of http://loinc.org, without when the pain was felt",
        ),
        (observation([], degrees(1)), "Observation without a code"),
        (angle(status="preliminary"), "Observation with status preliminary"),
        (
            angle(status="entered-in-error"),
            "Observation with status entered-in-error",
        ),
        (
            observation("41389-8", {"dataAbsentReason": {"coding": [{"system": ABSENT, "code": "error"}]}}),
            "Observation of active_flexion, without a value for another reason",
        ),
        ({"resourceType": "Procedure", "status": "anything"}, "Procedure"),
        ({"resourceType": "Encounter", "status": "finished"}, "Encounter"),
    ],
)
def test_what_no_caseload_keeps_is_counted(made: Json, left: str) -> None:
    other = {**observation("41389-8", degrees(160)), "id": "o2"}
    back = taken(PATIENT, made, made | {"id": "o3"}, other)
    assert back.left_out == Counter({left: 2})
    assert len(back.caseload.cases[0].entries) == 1


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (angle(status="banana"), 'Observation/o1, status: "banana" is not allowed'),
        (angle(status=None), "Observation/o1, status: is missing, needed is one of"),
        (
            observation("41389-8", degrees(400)),
            "case T-1, Observation/o1 (measure of 2026-02-27), valueQuantity.value: 400 is out of range, "
            "allowed for active_flexion is 0 to 180",
        ),
        (
            observation([{"system": LOCAL, "code": "worst_pain"}], {"valueInteger": 42}),
            "valueQuantity.value: 42 is out of range, allowed for worst_pain is 0 to 10",
        ),
        (
            observation("41389-9", degrees(1)),
            'Observation/o1, code: "41389-9" is no code that LOINC can have',
        ),
        (
            observation(
                [{"system": LOCAL, "code": "active_flexion"}, {"system": LOINC, "code": "41390-6"}],
                degrees(1),
            ),
            'code: "41390-6" is no LOINC code of active_flexion, needed is "41389-8"',
        ),
        (angle(subject={"reference": "Patient/q"}), '"Patient/q" is no Patient'),
        (angle(subject={"reference": "urn:uuid:0"}), '"urn:uuid:0" is not in the bundle'),
        (observation("41389-8", {}), "value: is missing, needed is valueQuantity or dataAbsentReason"),
        (angle(valueString="x"), "stands beside another value"),
        (observation("41389-8", {"valueString": "far"}), "valueString: is not taken of active_flexion"),
        (
            observation("41389-8", degrees(1, "rad")),
            'valueQuantity.code: "rad" is not the unit of active_flexion',
        ),
        (observation("41389-8", {"valueQuantity": {"value": 9}}), "null is not the unit of active_flexion"),
        (observation("41389-8", degrees("90")), 'valueQuantity.value: "90" is no number'),
        (observation("41389-8", degrees(True)), "valueQuantity.value: true is no number"),
        (
            observation("41389-8", {"valueQuantity": {**degrees(9)["valueQuantity"], "comparator": "<"}}),
            "valueQuantity.comparator: is not taken",
        ),
        (angle(effectiveDateTime="2026-02"), '"2026-02" is neither a day'),
        (angle(effectiveDateTime="2026-02-27T10:00:00"), "is neither a day"),
        (angle(effectiveDateTime=None, effectivePeriod={}), "effectivePeriod is not taken"),
        (angle(effectiveDateTime="2026-03-09"), "is after the clinic date 2026-03-02"),
        (angle(issued="yesterday"), 'issued: "yesterday" is neither a date nor'),
        (angle(bodySite=None), "bodySite: does not say which shoulder"),
        (angle(bodySite={"text": "left"}), "bodySite: does not say which shoulder"),
        (observation("41307-0", degrees(1)), "bodySite: says both sides"),
        (
            observation("41389-8", degrees(Decimal("1E+999999"))),
            "valueQuantity.value: 1E+999999 is out of range",
        ),
    ],
)
def test_what_cannot_be_right_is_refused_in_one_sentence(made: Json, said: str) -> None:
    told = refused(PATIENT, {name: value for name, value in made.items() if value is not None})
    assert said in told
    assert told.count("\n") == 0


TWO = replace(
    THERE,
    cases=(*THERE.cases, FileCase(drafts.head("T-2", person="P-T-1", side="RIGHT"), THERE.cases[0].entries)),
)
PAIN = observation([{"system": LOCAL, "code": "night_pain"}], {"valueInteger": 4})


def test_the_side_says_which_of_two_cases_is_meant() -> None:
    (case,) = taken(PATIENT, observation("41389-8", degrees(160)), known=TWO).caseload.cases
    assert case.head.code == "T-1"


def test_a_case_that_is_not_told_is_not_guessed() -> None:
    told = refused(PATIENT, {k: v for k, v in PAIN.items() if k != "bodySite"}, known=TWO)
    assert told == 'Observation/o1, subject: "P-T-1" has 2 cases (T-1, T-2), which one is not told.'
    nobody = {**PATIENT, "identifier": [{"system": PERSON, "value": "P-9"}]}
    assert '"P-9" has no case, neither here nor in the bundle' in refused(
        nobody, PAIN, known=replace(THERE, cases=())
    )


def test_a_bundle_makes_no_case_of_what_it_does_not_say() -> None:
    """A new case needs its pathway, side and day of registration."""
    made = decoded(as_text(three(), RULES))
    for one in made["entry"]:
        body = one["resource"]
        if body["resourceType"] == "Condition":
            body["code"], body["bodySite"] = {"text": "frozen shoulder"}, [{"text": "left"}]
        if body["resourceType"] == "EpisodeOfCare":
            del body["period"]
    with pytest.raises(CaseloadRefused) as caught:
        read_bundle(made, "bundle", clinic(three()))
    told = str(caught.value)
    assert "period.start: is missing, needed is the day of registration" in told
    assert "code: says 0 pathways" in told
    assert "bodySite: says 0 sides" in told


def test_an_entry_of_the_store_is_not_changed_by_a_bundle() -> None:
    measure = drafts.draft("measure", date(2026, 2, 27), name="rest_pain", value=Decimal(2))
    there = one_case(*THERE.cases[0].entries, measure)
    made = decoded(as_text(there, RULES))
    (one,) = [e["resource"] for e in made["entry"] if "valueQuantity" in e["resource"]]
    one["valueQuantity"]["value"] = 7
    with pytest.raises(CaseloadRefused, match="the store has this entry, and it says something else"):
        read_bundle(made, "bundle", clinic(there, *there.cases))


def planted(fault: str, one: Json) -> None:
    """One fault put into an Observation."""
    match fault:
        case "status":
            one["status"] = "banana"
        case "value":
            one["valueQuantity"]["value"] = 42
        case "code":
            one["code"]["coding"][0]["code"] = "99999-8"
        case "reference":
            one["subject"]["reference"] = "urn:uuid:6bddb065-7a30-4d30-b4ca-20db9d00fb46"
        case _:
            del one["valueQuantity"]


@pytest.mark.parametrize("fault", ["status", "value", "code", "reference", "missing"])
def test_faults_planted_in_a_bundle_of_our_own_are_found(fault: str) -> None:
    """The models of fhir.resources pass every one of them."""
    made = decoded(as_text(one_case(drafts.draft("visit"), NIGHT), RULES))
    (one,) = [e["resource"] for e in made["entry"] if "valueQuantity" in e["resource"]]
    planted(fault, one)
    import_module("fhir.resources.R4B.observation").Observation.model_validate(
        json.loads(json.dumps(one, default=str))
    )
    with pytest.raises(CaseloadRefused) as caught:
        read_bundle(made, "bundle", clinic(THERE))
    assert f"Observation/{one['id']}" in str(caught.value)


NIGHT = drafts.draft("measure", name="night_pain", value=Decimal(4))


# anything at all


def examples() -> Iterator[Any]:
    for one in json.loads(EXAMPLES.read_text(encoding="utf-8"))["resources"]:
        yield pytest.param(one, id=f"{one['resourceType']}-{one['id']}")


@pytest.mark.parametrize("one", examples())
def test_the_examples_of_the_specification_are_refused_in_a_sentence(one: Json) -> None:
    """None is about a shoulder: what is in them is counted, and beside something known they do no harm."""
    bundle = one if one["resourceType"] == "Bundle" else of(one)
    with pytest.raises(CaseloadRefused) as caught:
        read_bundle(copy.deepcopy(bundle), "bundle", clinic(THERE, *THERE.cases))
    told = str(caught.value).splitlines()[1:]
    assert told[0].startswith(("holds nothing that armrise takes", "fullUrl: "))
    if one["resourceType"] != "Bundle":
        with pytest.raises(CaseloadRefused, match='" is not allowed, allowed is "Bundle"'):
            read_bundle(copy.deepcopy(one), "bundle", clinic(THERE))
        back = taken(PATIENT, observation("41389-8", degrees(160)), one)
        assert sum(back.left_out.values()) == (one["resourceType"] != "Patient")


def deep(levels: int) -> Any:
    value: Any = "x"
    for _ in range(levels):
        value = [value]
    return value


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"resourceType": "Bundle"}, "type: null is not allowed"),
        ({"resourceType": [], "type": {}}, "resourceType: a list is not allowed"),
        ({"resourceType": "Bundle", "type": "collection", "entry": {}}, "entry: an object is no list"),
        ({"resourceType": "Bundle", "type": "collection"}, "holds nothing that armrise takes, it is empty"),
        ({"resourceType": "Bundle", "type": "collection", "entry": [7]}, "entry 1: holds no resource"),
        (of({"resourceType": "X", "a": deep(3000)}), "is nested deeper than 40 levels"),
        (of({"resourceType": "X", "a": {"\0twice": ["b"]}}), '"b": is given twice in one object'),
        (of(PATIENT, PATIENT), '"Patient/p" is given to 2 resources'),
        (
            {"resourceType": "Bundle", "type": "batch", "entry": [{"fullUrl": "u", "resource": PATIENT}] * 2},
            '"u" is given',
        ),
    ],
)
def test_what_is_no_bundle_is_refused_in_a_sentence(data: Json, said: str) -> None:
    with pytest.raises(CaseloadRefused) as caught:
        read_bundle(data, "bundle", clinic(THERE))
    assert said in str(caught.value)


ODD: tuple[Any, ...] = (
    *(None, True, 0, -1, 42, 10**30, Decimal("1e999999"), Decimal("NaN"), "", "x", "\u202e", "2026-02-30"),
    *("9999-12-31T23:59:59-14:00", [], {}, [[]], [None], {"a": 1}, "urn:uuid:nowhere", "Patient/1"),
    *("not asked", {"\0twice": ["x"]}, "a" * 5000),
)


def places(value: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value inside another."""
    named: Any = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    for key, part in named:
        yield (*way, key)
        yield from places(part, (*way, key))


def test_a_damaged_bundle_is_taken_or_refused_and_nothing_else() -> None:
    """Sixty damages of a bundle of one case: taken, left out, taken over or put elsewhere."""
    case = three().cases[0]
    short = replace(three(), cases=(replace(case, entries=case.entries[:14]),))
    whole = decoded(as_text(short, RULES))
    ways, draw = list(places(whole)), random.Random(5)
    told: Counter[bool] = Counter()
    for number in range(60):
        damaged = copy.deepcopy(whole)
        way = draw.choice(ways)
        inside: Any = damaged
        for key in way[:-1]:
            inside = inside[key]
        if number % 4 == 0:
            del inside[way[-1]]
        else:
            inside[way[-1]] = copy.deepcopy(draw.choice(ODD))
        try:
            read_bundle(damaged, "bundle", clinic(short, *short.cases[: number % 2]))
            told[True] += 1
        except CaseloadRefused:
            told[False] += 1
    assert min(told[True], told[False]) > 5
