"""The entries behind each row of a verdict: those it was judged by, newest first, of every kind."""

from __future__ import annotations

from armrise.store.clinic.case.standing import CriterionResult, Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.series.behind import MOST, PICKED, READ, behind
from armrise.store.clinic.standing.stand import stand_view
from armrise.store.record.kinds.head import Entry
from armrise.store.record.phrase import dated
from armrise.store.rules.criterion import CRITERION_KINDS
from tests.clinic.build import TODAY, case, rules


def rows(made) -> tuple[Standing, dict[CriterionResult, list[Entry]]]:
    view = View.of(made.record(), rules(), TODAY)
    standing = stand_view(view)
    return standing, behind(view, standing)


def of(found: dict[CriterionResult, list[Entry]], words: str) -> list[str]:
    return [dated(e, rules()) for row, entries in found.items() if words in row.text for e in entries]


def test_every_kind_of_criterion_says_what_it_reads() -> None:
    assert {*READ, *PICKED, "improved", "any", "all"} == {*CRITERION_KINDS}


def test_a_measure_has_its_values_of_both_sides_and_a_target_newest_first() -> None:
    made = case("RC2", day=20).both(-9, "active_flexion", 130, 165).measure(-1, "active_flexion", 140)
    made = made.target(-1, "active_flexion", 150).measure(-1, "night_pain", 3)
    told = of(rows(made)[1], "active flexion")
    assert [line.split(":")[0] for line in told] == [
        "target, active flexion",
        "active flexion",
        "active flexion LEFT",
        "active flexion",
    ]
    assert "140 degrees" in told[1]


def test_days_and_gates_rest_on_steps_onset_and_orders_and_all_rows_are_there() -> None:
    standing, found = rows(case("PO2", day=20, onset=33))
    assert {*standing.verdict.criteria, *standing.verdict.blocks} == set(found)
    assert any("onset" in line for line in of(found, "opens day"))
    assert any("PO2" in line for line in of(found, "days in stage"))


def test_no_more_than_the_newest_are_kept() -> None:
    made = case("RC2", day=60)
    for day in range(-20, 0):
        made = made.measure(day, "active_flexion", 140)
    told = of(rows(made)[1], "active flexion")
    assert len(told) == MOST
    assert "Sun 1 Mar" in told[0]
