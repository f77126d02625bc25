"""Limits before and after an order or a clearance: worked examples by hand.

Expected behaviour: section 3.3, 3.6, 4.13 (20-22) and rulings 8 and 62 of the clinic's practice notes.
"""

from __future__ import annotations

from datetime import date

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.ordered import changes, limits_now
from armrise.store.record.case import CaseRecord
from tests.clinic.build import TODAY, Builder, case, rules


def view(record: CaseRecord) -> View:
    return View.of(record, rules(), TODAY)


def told(before: Builder, after: Builder) -> list[str]:
    return [change.words for change in changes(view(before.record()), view(after.record()))]


def repaired(onset: int = 20) -> Builder:
    """PO2, surgery ``onset`` days before Mon 2 Mar 2026, orders on record that say nothing."""
    return case("PO2", day=6, onset=onset)


def test_without_a_limit_in_the_orders_the_template_holds() -> None:
    """Surgery on 10 Feb: sling to the end of day 41 (ruling 83), stages at days 14, 42, 84 and 140."""
    limits = {limit.key: (limit.value, limit.by) for limit in limits_now(view(repaired().record()))}
    assert limits == {
        "sling_until": ("Tue 24 Mar (day 42)", "template"),
        "stage2_from": ("Tue 24 Feb (day 14)", "template"),
        "stage3_from": ("Tue 24 Mar (day 42)", "template"),
        "stage4_from": ("Tue 5 May (day 84)", "template"),
        "stage5_from": ("Tue 30 Jun (day 140)", "template"),
    }


def test_a_later_sling_date_is_the_surgeons_and_differs_from_the_template() -> None:
    after = repaired().orders(-1, sling_until=date(2026, 3, 31))
    assert told(repaired(), after) == [
        "sling on until Tue 24 Mar (day 42) -> Tue 31 Mar (day 49), surgeon's order, differs from template"
    ]


def test_an_earlier_date_of_the_surgeon_holds_too() -> None:
    """Practice note 3.3: a permissive date wins and is said to differ."""
    after = repaired().orders(-1, stage3_from=date(2026, 3, 17))
    assert told(repaired(), after) == [
        "PO3 opens Tue 24 Mar (day 42) -> Tue 17 Mar (day 35), surgeon's order, differs from template"
    ]


def test_the_same_date_by_order_says_only_whose_it_is() -> None:
    after = repaired().orders(-1, stage3_from=date(2026, 3, 24))
    assert told(repaired(), after) == [
        "PO3 opens Tue 24 Mar (day 42) -> Tue 24 Mar (day 42), surgeon's order"
    ]


def test_a_changed_order_names_the_date_of_the_template() -> None:
    """Practice note 4.13, case 21: the newest order wins from its own date."""
    before = repaired().orders(-5, stage3_from=date(2026, 3, 31))
    after = repaired().orders(-5, stage3_from=date(2026, 3, 31)).orders(-1, stage3_from=date(2026, 4, 7))
    assert told(before, after) == [
        "PO3 opens Tue 31 Mar (day 49) -> Tue 7 Apr (day 56), surgeon's order, differs from template"
        " (Tue 24 Mar)"
    ]


def test_a_large_tear_moves_the_templates_own_dates() -> None:
    """Ruling 8: PO3 by 14 days, PO4 and PO5 by 28."""
    assert told(repaired(), repaired().orders(-1, tear_size="large")) == [
        "PO3 opens Tue 24 Mar (day 42) -> Tue 7 Apr (day 56), template",
        "PO4 opens Tue 5 May (day 84) -> Tue 2 Jun (day 112), template",
        "PO5 opens Tue 30 Jun (day 140) -> Tue 28 Jul (day 168), template",
    ]


def test_a_bar_on_active_work_keeps_its_stages_shut() -> None:
    after = repaired().orders(-1, no_active_until=date(2026, 4, 7))
    assert told(repaired(), after) == [
        "no active work until no limit -> Tue 7 Apr (day 56), surgeon's order",
        "PO3 opens Tue 24 Mar (day 42) -> Tue 7 Apr (day 56), surgeon's order, differs from template",
    ]


def test_numbers_of_the_orders_are_limits_and_the_newest_holds() -> None:
    before = repaired().orders(-5, external_rotation_limit=0)
    after = repaired().orders(-5, external_rotation_limit=0).orders(-1, external_rotation_limit=30)
    assert told(repaired(), before) == [
        "external rotation at most no limit -> 0 degrees, surgeon's order",
    ]
    assert told(before, after) == [
        "external rotation at most 0 degrees -> 30 degrees, surgeon's order",
    ]


def test_vague_words_change_no_limit() -> None:
    """Practice note 4.13, case 22."""
    assert told(repaired(), repaired().orders(-1, text="sling as tolerated")) == []


def test_an_order_of_tomorrow_is_not_in_force() -> None:
    assert told(repaired(), repaired().orders(1, sling_until=date(2026, 3, 24))) == []


def test_union_opens_the_last_stage_of_a_fracture() -> None:
    """Practice note 3.6: FX4 from day 84, or earlier with union."""
    before = case("FX3", day=10, onset=52)
    after = case("FX3", day=10, onset=52).clearance(-1, "union", "yes")
    assert told(before, after) == ["FX4 opens Fri 3 Apr (day 84) -> no limit"]


def test_a_missing_surgery_date_opens_nothing_until_it_is_known() -> None:
    """Practice note 4.13, case 20."""
    before = case("PO1", day=6, onset=-1)
    after = case("PO1", day=6, onset=-1).onset(-20, "surgery")
    words = told(before, after)
    assert "PO3 opens not before the surgery date is known -> Tue 24 Mar (day 42), template" in words
    assert "sling on until no limit -> Tue 24 Mar (day 42), template" in words


def test_a_closed_case_has_no_limits() -> None:
    assert limits_now(view(repaired().discharge(-1).record())) == ()
