"""Pathway and stage proposed at the first visit: practice notes 3.1 to 3.6, "Enter when".

Frozen shoulder entry: UK FROST trial protocol (PMC5741880), passive external rotation under half of the other
side; loss in two planes and active about equal to passive after the practice notes (design).
"""

from __future__ import annotations

import pytest

from armrise.store.clinic.actions.placing import (
    interval_of,
    programme,
    propose_pathway,
    propose_stage,
    stiffness,
    strength_barred,
)
from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.measured import Finding, Measure
from armrise.store.record.kinds.pain import Irritability
from armrise.store.record.kinds.plan import Clearance, Orders, Step
from armrise.store.record.kinds.safety import Onset
from tests.clinic.build import TODAY, Builder, number, on, rules

HEAD = {"code": "C-1", "person": "P-1", "side": "LEFT", "pathway": "RC", "registered_on": TODAY}


def first(**head: object) -> Builder:
    return Builder({**HEAD, **head}, "RC1", TODAY)


def measured(built: Builder, **values: int | tuple[int, int]) -> Builder:
    """Values of the affected side, or (affected, other)."""
    for name, value in values.items():
        own, other = value if isinstance(value, tuple) else (value, None)
        built.add(Measure, 0, name=name, value=number(own))
        if other is not None:
            built.add(Measure, 0, name=name, value=number(other), side="RIGHT")
    return built


def view(built: Builder) -> View:
    return View.of(built.record(), rules(), TODAY)


@pytest.mark.parametrize(
    ("what", "pathway"),
    [
        ("surgery", "PO"),
        ("dislocation", "AD"),
        ("fracture", "FX"),
        ("other injury", "RC"),
        ("gradual", "RC"),
    ],
)
def test_the_mechanism_proposes_the_pathway(what: str, pathway: str) -> None:
    assert propose_pathway(view(first().add(Onset, -20, what=what))).pathway == pathway


def test_nothing_known_proposes_nothing() -> None:
    assert propose_pathway(view(first())).pathway is None


FROZEN = {
    "active_flexion": 95,
    "passive_flexion": (100, 170),
    "active_external_rotation": 18,
    "passive_external_rotation": (20, 60),
}


def test_the_whole_picture_of_a_frozen_shoulder_is_proposed_and_never_diagnosed() -> None:
    found = propose_pathway(view(measured(first().add(Onset, -90, what="gradual"), **FROZEN)))
    assert found.pathway == "FS"
    assert found.consider == (
        "consider frozen shoulder: passive external rotation 20, other side 60; loss in 2 planes; "
        "still to check: radiograph",
    )


@pytest.mark.parametrize(
    "change",
    [
        {"passive_external_rotation": (30, 60)},  # exactly half is not under half
        {"passive_flexion": (151, 170)},  # one plane only: 19 degrees are within error
        {"active_flexion": 89},  # 11 degrees below passive: more than about equal
    ],
)
def test_an_incomplete_picture_is_not_proposed(change: dict[str, int | tuple[int, int]]) -> None:
    built = measured(first().add(Onset, -90, what="gradual"), **{**FROZEN, **change})
    assert propose_pathway(view(built)).pathway == "RC"


def test_without_the_other_side_or_with_it_no_reference_there_is_no_picture() -> None:
    alone = measured(first(), passive_external_rotation=20, passive_flexion=100)
    assert stiffness(view(alone)).half is None
    barred = measured(first(), **FROZEN).add(Finding, 0, name="other side is a reference", answer="no")
    assert stiffness(view(barred)).half is None
    assert not stiffness(view(measured(first(linked=("C-2",)), **FROZEN))).complete


def test_after_surgery_stiffness_does_not_change_the_pathway() -> None:
    built = measured(first().add(Onset, -30, what="surgery"), **FROZEN)
    assert propose_pathway(view(built)).pathway == "PO"


@pytest.mark.parametrize(
    ("level", "night", "stage"),
    [
        ("high", 0, "RC1"),
        ("moderate", 4, "RC2"),
        ("moderate", 5, "RC1"),
        ("low", None, "RC2"),
        (None, 2, "RC1"),
    ],
)
def test_tendon_pain_enters_by_irritability_or_night_pain(
    level: str | None, night: int | None, stage: str
) -> None:
    built = first()
    if level:
        built.add(Irritability, 0, level=level)
    if night is not None:
        measured(built, night_pain=night)
    assert propose_stage(view(built), rules().pathways["RC"]).stage == stage


@pytest.mark.parametrize(
    ("night", "rest", "stage"),
    [(4, 0, "FS1"), (3, 3, "FS1"), (3, 2, "FS2"), (3, None, "FS1"), (None, None, "FS1")],
)
def test_a_frozen_shoulder_enters_by_night_and_rest_pain(
    night: int | None, rest: int | None, stage: str
) -> None:
    values = {name: v for name, v in (("night_pain", night), ("rest_pain", rest)) if v is not None}
    assert propose_stage(view(measured(first(), **values)), rules().pathways["FS"]).stage == stage


@pytest.mark.parametrize(
    ("level", "stage"), [("high", "OA1"), ("moderate", "OA1"), ("low", "OA2"), (None, "OA1")]
)
def test_arthritis_enters_by_irritability(level: str | None, stage: str) -> None:
    built = first().add(Irritability, 0, level=level) if level else first()
    assert propose_stage(view(built), rules().pathways["OA"]).stage == stage


@pytest.mark.parametrize(
    ("pathway", "what", "day", "stage"),
    [
        ("PO", "surgery", 13, "PO1"),
        ("PO", "surgery", 14, "PO1"),  # PO2 is open by the calendar, the exit of PO1 not seen
        ("PO", "surgery", 42, "PO2"),
        ("PO", "surgery", 100, "PO3"),
        ("AD", "dislocation", 6, "AD1"),
        ("AD", "dislocation", 45, "AD2"),
        ("FX", "fracture", 20, "FX1"),
    ],
)
def test_healing_tissue_enters_one_stage_below_the_calendar(
    pathway: str, what: str, day: int, stage: str
) -> None:
    built = first().add(Onset, -day, what=what)
    assert propose_stage(view(built), rules().pathways[pathway]).stage == stage


def test_a_missing_surgery_date_opens_nothing() -> None:
    """Practice note 4.13, case 20."""
    found = propose_stage(view(first()), rules().pathways["PO"])
    assert (found.stage, found.because) == ("PO1", "surgery date missing: no later stage is open")


def test_an_order_that_bars_active_work_keeps_the_later_stage_shut() -> None:
    built = first().add(Onset, -50, what="surgery").add(Orders, -50, no_active_until=on(10))
    assert propose_stage(view(built), rules().pathways["PO"]).stage == "PO1"


@pytest.mark.parametrize(
    ("pathway", "what", "day", "barred"),
    [
        ("PO", "surgery", 83, True),
        ("PO", "surgery", 84, False),
        ("AD", "dislocation", 6, True),
        ("AD", "dislocation", 7, False),
        ("FX", "fracture", 41, True),
        ("FX", "fracture", 42, False),
        ("RC", "gradual", 0, False),
    ],
)
def test_strength_is_not_tested_before_healing_allows_strong_isometric_work(
    pathway: str, what: str, day: int, barred: bool
) -> None:
    found = strength_barred(view(first().add(Onset, -day, what=what)), rules().pathways[pathway])
    assert bool(found) is barred


def test_strength_is_barred_while_the_date_is_missing() -> None:
    assert "date is missing" in strength_barred(view(first()), rules().pathways["PO"])


def test_union_before_its_day_does_not_open_testing_early() -> None:
    """Union opens the last stage on any day; strong isometric work comes with the one before it."""
    built = first().add(Onset, -30, what="fracture").add(Clearance, 0, by="union", answer="yes")
    assert "FX3 opens on" in strength_barred(view(built), rules().pathways["FX"])


def test_the_interval_is_that_of_the_stage_at_a_first_visit() -> None:
    stages = {s.code: s for p in rules().pathways.values() for s in p.stages}
    found = {code: interval_of(view(first()), stages[code]) for code in ("RC1", "RC2", "FS1", "FS2")}
    assert found == {"RC1": 14, "RC2": 21, "FS1": 14, "FS2": 28}


@pytest.mark.parametrize(
    ("stage", "what", "day", "classes"),
    [
        ("RC1", "gradual", 30, ["P1", "A1", "S1"]),  # the first stage: the least demanding it brings
        ("RC2", "gradual", 30, ["R1", "W1", "I2"]),  # one new class, then the furthest of those before
        ("FS1", "gradual", 30, ["P1", "A1", "S1"]),
        ("PO1", "surgery", 5, ["P0"]),  # nothing but protection is allowed
        ("PO2", "surgery", 20, ["P1", "S1"]),
        ("PO2", "surgery", 5, ["P0"]),  # placed past its gate: the calendar rules
    ],
)
def test_the_programme_proposed_holds_what_stage_and_healing_allow(
    stage: str, what: str, day: int, classes: list[str]
) -> None:
    built = (
        first(pathway=stage[:2]).add(Onset, -day, what=what).add(Step, 0, stage=stage, direction="placing")
    )
    assert [exercise.load_class for exercise in programme(view(built))] == classes


def test_a_case_that_is_not_placed_is_proposed_no_programme() -> None:
    assert programme(view(first().add(Onset, -30, what="gradual"))) == ()


def test_no_stage_is_proposed_more_than_a_few_exercises() -> None:
    for pathway in rules().pathways.values():
        for stage in pathway.stages:
            built = first(pathway=pathway.code).add(Onset, -400, what=pathway.clock or "gradual")
            found = programme(view(built.add(Step, 0, stage=stage.code, direction="placing")))
            assert 1 <= len(found) <= 4
            assert all(exercise.load_class in stage.allowed for exercise in found)
