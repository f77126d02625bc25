"""Which exercises of the catalogue fit a case today: by its stage, and by what heals (practice 3)."""

from __future__ import annotations

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.fit import Fit, fits
from armrise.store.rules.exercise import Exercise
from tests.clinic.build import TODAY, Builder, case, rules


def by_name(built: Builder) -> dict[str, Fit]:
    found = fits(View.of(built.record(), rules(), TODAY), rules().exercises)
    assert [f.fits for f in found] == sorted((f.fits for f in found), reverse=True), (
        "those that fit come first"
    )
    return {f.exercise.name: f for f in found}


@pytest.mark.parametrize(
    ("stage", "fitting", "not_fitting"),
    [
        # practice 3.1 and 3.3, rows "Allowed"
        ("RC1", "table slide", "band row"),
        ("RC2", "band row", "scaption raise"),
        ("RC3", "scaption raise", "ball throw and catch"),
        ("RC4", "ball throw and catch", ""),
        ("PO1", "hand, wrist and elbow exercises", "pendular swing"),
        ("PO1", "hand, wrist and elbow exercises", "table slide"),
        ("PO2", "pendular swing", "wall walk"),
        ("PO2", "table slide", "stick-assisted external rotation"),  # passive after a repair (ruling 83)
        ("PO3", "wall slide", "band row"),
        ("PO4", "band row", "ball throw and catch"),
    ],
)
def test_the_stage_decides_by_its_classes(stage: str, fitting: str, not_fitting: str) -> None:
    found = by_name(case(stage, day=5))
    assert found[fitting].fits
    if not_fitting:
        assert not found[not_fitting].fits
        assert found[not_fitting].healing is (stage[:2] == "PO")


def test_what_heals_says_when_it_opens() -> None:
    """Day 19 after surgery: light resisted work from day 84, in 65 days."""
    found = by_name(case("PO2", day=5))["band row"]
    assert found.why == "light resisted work: from PO4, which opens Wed 6 May (day 84 after surgery)"


def test_orders_bar_a_class_that_the_stage_holds() -> None:
    built = case("PO4", day=5)
    assert by_name(built)["band row"].fits
    found = by_name(built.orders(-1, no_resisted_until=10))["band row"]
    assert (found.fits, found.healing) == (False, True)
    assert "until Thu 12 Mar" in found.why


def test_the_combined_movement_is_barred_by_itself() -> None:
    """Ruling 53: in AD before day 42; the exercise here is of a class that the stage holds."""
    combined = Exercise(
        name="x",
        load_class="A1",
        equipment="none",
        sets=1,
        reps=10,
        combined=True,
        source="s",
        status="design",
    )
    for onset, fitting in ((41, False), (42, True)):
        view = View.of(case("AD2", day=5, onset=onset).record(), rules(), TODAY)
        (found,) = fits(view, [combined])
        assert found.fits is fitting


def test_a_case_not_placed_gets_protection_only() -> None:
    found = by_name(
        Builder(
            {"code": "C", "person": "P", "side": "LEFT", "pathway": "RC", "registered_on": TODAY},
            "RC1",
            TODAY,
        )
    )
    assert found["hand, wrist and elbow exercises"].fits
