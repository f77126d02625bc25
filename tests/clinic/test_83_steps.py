"""Ruling 83: what a step does to the programme: the rungs that open, the exercises that stop."""

from __future__ import annotations

from armrise.store.clinic.actions.rungs import opened_rungs, stopped_by
from armrise.store.clinic.case.view import View
from armrise.store.rules.pathway import Stage
from tests.clinic.build import TODAY, Builder, case, rules
from tests.clinic.programmes import prescribe, start


def seen(built: Builder, stage: str) -> tuple[View, Stage]:
    """The case today, and a stage of its pathway."""
    found = rules().pathways[stage[:2]].stage(stage)
    assert found is not None
    return View.of(built.record(), rules(), TODAY), found


def test_83_a_step_forward_lists_the_rungs_it_opens() -> None:
    opened = opened_rungs(*seen(start("RC1"), "RC2"))
    assert "light scaption raise" in opened
    assert "band external rotation, lowering only" in opened
    assert "table slide" not in opened
    assert "scaption raise" not in opened
    assert "scaption raise" in opened_rungs(*seen(start("RC2"), "RC3"))


def test_83_a_rung_that_healing_shuts_is_not_opened_by_a_step() -> None:
    """Day 41 after the repair, and an order about resisted work."""
    early = case("PO2", day=27, onset=41)
    assert opened_rungs(*seen(early, "PO3")) == []
    assert "wall walk" in opened_rungs(*seen(case("PO2", day=28, onset=42), "PO3"))
    barred = case("PO3", day=50).orders(-1, no_resisted_until=10)
    assert "light scaption raise" not in opened_rungs(*seen(barred, "PO4"))
    assert "light scaption raise" in opened_rungs(*seen(case("PO3", day=50), "PO4"))


def test_83_a_step_back_stops_what_is_not_allowed_and_names_the_highest_rung_that_is() -> None:
    built = prescribe(
        prescribe(start("RC2"), -50, "2x10 @ 1", "light scaption raise"), -50, "2x10", "band row"
    )
    prescribe(built, -50, "2x10", "table slide", "A1")
    stopped = stopped_by(*seen(built, "RC1"))
    assert [each.words for each in stopped] == [
        "light scaption raise stops; highest allowed on its ladder: free arm lift",
        "band row stops",
    ]
    assert [each.item.stopped for each in stopped] == [
        "step to RC1: light resisted work is not part of it"
    ] * 2


def test_83_a_step_back_stops_nothing_that_stays_allowed() -> None:
    assert stopped_by(*seen(prescribe(start("RC3"), -50, "2x10", "band row"), "RC2")) == []
