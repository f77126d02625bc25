"""A caseload as a FHIR R4 bundle: what stands in which resource.

Outside oracles: the models of fhir.resources (R4B), the check digit of LOINC.
"""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date
from decimal import Decimal
from importlib import import_module
from pathlib import Path

import pytest

from armrise.store.exchange.fhir import codes
from armrise.store.exchange.fhir.bundle import Asked, as_text
from armrise.store.exchange.fhir.carried import BY_KIND, NOT_IN_IT, losses
from armrise.store.exchange.fhir.systems import (
    ABSENT,
    LOCAL,
    LOINC,
    SNOMED,
    STATED,
    STATUSES,
    UCUM,
)
from armrise.store.record.fields import Absence, Words
from armrise.store.record.kinds.head import REPORTED, Entry
from armrise.store.record.kinds.programme import DoneItem
from tests.store import drafts
from tests.store.bundles import (
    RULES,
    Json,
    of_type,
    one_case,
)

README = Path(__file__).parents[2] / "README.md"


# what goes out


def test_every_resource_is_valid() -> None:
    """By the models of fhir.resources for R4B; those of R4 are the same for these resources."""
    pytest.importorskip("fhir.resources")
    model = import_module("fhir.resources.R4B.bundle").Bundle
    told: list[Entry] = [
        drafts.draft("visit", interval=7, mode="video", anything_new="no"),
        drafts.draft("step", stage="RC1", direction="placing", verdict="READY"),
        drafts.draft("onset", what="surgery"),
        drafts.draft(
            "session",
            during=3,
            items=(DoneItem(exercise="band row", load_class="R1", sets=3, load=Decimal("2.5")),),
        ),
        drafts.draft("morning", pain=Absence.PROHIBITED),
        drafts.draft("measure", name="abduction_strength", value=Decimal("7.50"), method="dynamometer"),
        drafts.draft("measure", name="hand_behind_back", value=Decimal(9), source=REPORTED),
        drafts.draft("score", instrument="QuickDASH", total=None, items=(Decimal(3), None)),
        drafts.draft("correction", corrects=7, reason="a slip"),
        drafts.draft("programme item", exercise="band row", load_class="R1", sets=3, reps=8),
        drafts.draft("programme item", exercise="band row", load_class="R1", sets=3, reps=9, stopped="sore"),
        drafts.draft("appointment", booked_for=date(2026, 3, 9), at="09:20"),
        drafts.draft("appointment", booked_for=date(2026, 3, 16)),
        drafts.draft("attendance", booked_for=date(2026, 3, 9), outcome="cancelled by patient"),
    ]
    asked = Asked(reviews={"T-1": date(2026, 3, 9)}, snomed=True)
    made = json.loads(as_text(replace(one_case(*told), fictional=True), RULES, asked))
    assert len(model.model_validate(made).entry) == len(made["entry"])
    found = {one["resource"]["resourceType"] for one in made["entry"]}
    assert found == {*STATUSES, "Patient", "Condition"}
    for kind, allowed in STATUSES.items():
        status = getattr(import_module(f"fhir.resources.R4B.{kind.lower()}"), kind).model_fields["status"]
        assert set(status.json_schema_extra["enum_values"]) - {"+"} <= set(allowed)


def test_the_three_scores_of_a_session_are_told_apart() -> None:
    """By a second coding, as LOINC has one code for all; the next morning is dated when it was felt."""
    session = drafts.draft("session", date(2026, 2, 27), during=3, later=0, morning=Absence.DECLINED)
    panel, during, later, morning = of_type(one_case(session), "Observation")
    assert [one["reference"] for one in panel["hasMember"]] == [
        f"urn:uuid:{one['id']}" for one in (during, later, morning)
    ]
    assert {one["code"]["coding"][0]["code"] for one in (during, later, morning)} == {"72514-3"}
    words = [one["code"]["coding"][1] for one in (during, later, morning)]
    assert [word["code"] for word in words] == list(codes.OF_SESSION.values())
    assert {word["system"] for word in words} == {LOCAL}
    assert (during["effectiveDateTime"], morning["effectiveDateTime"]) == ("2026-02-27", "2026-02-28")
    assert later["valueQuantity"] == {"value": 0, "unit": "of 10", "system": UCUM, "code": "{score}"}
    assert "valueQuantity" not in morning
    assert morning["issued"] == "2026-03-02T09:00:00+00:00"


@pytest.mark.parametrize(
    ("absence", "standard", "own"),
    [
        (Absence.NOT_ASKED, "not-asked", None),
        (Absence.DECLINED, "asked-declined", None),
        (Absence.NOT_MEASURED, "not-performed", None),
        (Absence.PROHIBITED, "not-performed", "prohibited"),
    ],
)
def test_an_absence_is_a_reason_of_the_standard(absence: Absence, standard: str, own: str | None) -> None:
    """terminology.hl7.org, data-absent-reason: "not-permitted" is of profiles, so it is none of ours."""
    measure = drafts.draft("measure", name="passive_flexion", value=absence)
    (one,) = of_type(one_case(measure), "Observation")
    told = {c["system"]: c["code"] for c in one["dataAbsentReason"]["coding"]}
    assert told == {ABSENT: standard} | ({LOCAL: own} if own else {})


@pytest.mark.parametrize(
    ("name", "loinc", "unit"),
    [
        ("active_flexion", "41389-8", "deg"),
        ("passive_external_rotation", "41388-0", "deg"),
        ("abduction_strength", None, "kg"),
        ("night_waking", None, "{nights}/wk"),
        ("worst_pain", "72514-3", "{score}"),
    ],
)
def test_a_measure_is_named_by_the_standard_where_that_has_a_name(
    name: str, loinc: str | None, unit: str
) -> None:
    measure = drafts.draft("measure", name=name, value=Decimal("4"), side="RIGHT")
    (one,) = of_type(one_case(measure), "Observation", Asked(snomed=True))
    found = {c["system"]: c["code"] for c in one["code"]["coding"]}
    assert (found.get(LOINC), found[LOCAL]) == (loinc, name)
    assert one["valueQuantity"]["code"] == unit
    side = {c["system"]: c["code"] for c in one["bodySite"]["coding"]}
    assert side == {SNOMED: "91774008", LOCAL: "RIGHT"}


def test_codes_of_loinc_can_be_codes_and_no_withdrawn_one_is_there() -> None:
    """The last digit by LOINC's own rule (mod 10); 41301-3 and 41302-1 are deprecated."""
    known = codes.table().by_loinc
    assert len(known) == 12
    assert all(map(codes.has_check_digit, known))
    assert not {"41301-3", "41302-1"} & set(known)
    assert not codes.has_check_digit("72514-4")
    assert not any(map(codes.has_check_digit, ("", "72514", "-3", "72514-33", "7251٤-3", "72514-3-")))


def test_what_was_withdrawn_goes_out_without_its_value() -> None:
    wrong = drafts.draft("measure", name="rest_pain", value=Decimal(9))
    right = drafts.draft("measure", name="rest_pain", value=Decimal(2))
    undone = drafts.draft("correction", corrects=1, replaced_by=2, reason="typed in the wrong case")
    first, second = of_type(one_case(wrong, right, undone), "Observation")
    assert (first["status"], second["status"]) == ("entered-in-error", "corrected")
    assert first["dataAbsentReason"]["coding"][0]["code"] == "masked"
    assert "9" not in json.dumps({k: v for k, v in first.items() if k.startswith("value")})
    assert all(one["url"] != STATED for one in first["extension"])
    assert second["valueQuantity"]["value"] == 2


def test_a_slot_begins_on_the_clinics_clock_and_its_end_is_said_to_be_unknown() -> None:
    """R4 wants both ends of a slot (app-2, app-3): an element that is absent for a reason is there."""
    summer = drafts.draft("appointment", booked_for=date(2026, 4, 20), at="09:20", reason="with Mr Smith")
    open_end = drafts.draft("appointment", booked_for=date(2026, 4, 27))
    missed = drafts.draft(
        "attendance", date(2026, 4, 20), booked_for=date(2026, 4, 20), outcome="did not attend"
    )
    first, second = of_type(one_case(summer, open_end, missed), "Appointment")
    assert first["start"] == "2026-04-20T09:20:00+01:00"
    assert first["_end"]["extension"][0]["valueCode"] == "unknown"
    assert (first["status"], second["status"]) == ("noshow", "booked")
    assert second["requestedPeriod"] == [{"start": "2026-04-27", "end": "2026-04-27"}]
    assert "Smith" not in json.dumps(first)


@pytest.mark.parametrize(
    ("entries", "episode", "clinical"),
    [
        ([], "waitlist", "active"),
        ([("visit", {})], "active", "active"),
        ([("visit", {}), ("hold", {"until": date(2026, 3, 9), "reason": "holiday"})], "onhold", "active"),
        ([("visit", {}), ("hold", {"until": date(2026, 3, 2), "reason": "holiday"})], "active", "active"),
        ([("visit", {}), ("discharge", {"outcome": "goal met"})], "finished", "inactive"),
        (
            [("visit", {}), ("discharge", {"outcome": "goal met"}), ("reopening", {"reason": "pain"})],
            "active",
            "active",
        ),
    ],
)
def test_an_episode_stands_as_the_case_does(
    entries: list[tuple[str, Json]], episode: str, clinical: str
) -> None:
    file = one_case(*(drafts.draft(kind, **told) for kind, told in entries))
    (found,) = of_type(file, "EpisodeOfCare")
    (condition,) = of_type(file, "Condition")
    assert found["status"] == episode
    assert condition["clinicalStatus"]["coding"][0]["code"] == clinical


def test_a_review_is_ordered_where_the_visit_said_when() -> None:
    visit = drafts.draft("visit", date(2026, 2, 23), interval=14)
    for due, intent in ((date(2026, 3, 9), "order"), (date(2026, 3, 16), "proposal")):
        (task,) = of_type(one_case(visit), "Task", Asked(reviews={"T-1": due}))
        assert (task["intent"], task["restriction"]["period"]["end"]) == (intent, due.isoformat())


def test_the_losses_are_those_the_readme_names() -> None:
    """And every text of a carried kind is either named as one that goes along, or lost."""
    rows = "\n".join(f"| {kind} | {becomes} | {lost} |" for kind, becomes, lost in losses())
    assert rows in README.read_text(encoding="utf-8"), rows
    for kind, how in BY_KIND.items():
        texts = {f.name for f in fields(how.kind) if isinstance(f.metadata.get("rule"), Words)}
        assert texts == {*how.lost} | (texts & {*how.names, *how.elements}), kind
        assert set(how.needed) <= set(how.lost)


def test_a_text_that_is_needed_says_that_it_stayed_behind() -> None:
    stopped = drafts.draft(
        "programme item", exercise="band row", load_class="R1", sets=3, reps=8, stopped="Mrs Smith fell"
    )
    (plan,) = of_type(one_case(stopped), "CarePlan")
    assert plan["activity"][0]["detail"]["status"] == "stopped"
    assert NOT_IN_IT in json.dumps(plan)
    assert "Smith" not in json.dumps(plan)
