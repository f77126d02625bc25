"""Measures and scores of a day by their keys, without a visit; and what the visit forms read and propose.

Expected behaviour: practice notes 1.3 and 3.0; 4.13 cases 34, 35, 36.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from armrise.store.clinic.scores.activities import own_activities
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.measured import Measure, Score
from armrise.tui.forms.first_visit.codes import next_code
from armrise.tui.forms.measures.activity import read_activity
from armrise.tui.forms.measures.items import ItemsScreen
from armrise.tui.forms.measures.plan import mean
from armrise.tui.forms.measures.screen import MeasuresScreen
from armrise.tui.forms.paged.read import read_total, read_when
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import TODAY, new_entries, newest, of_kind, painted, press
from tests.tui.visit_keys import haste, keys


async def test_a_day_is_measured_without_a_visit_being_claimed(door: Door) -> None:
    before = newest(door)
    async with FormApp(MeasuresScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("<f3>", "<left>", "<left>", "<enter>", "32d1", "150 - 40p t7|170", "<enter>"))
        await haste(pilot, keys("45 .", "<enter>", "<enter>", "<enter>", "6.5 x", "<enter>"))
        await haste(pilot, keys("<enter>", "58", "<enter>", "4d", "<f2>"))
    stored = new_entries(door, "BY-018", before)
    assert {entry.on for entry in stored} == {TODAY - timedelta(days=2)}
    assert of_kind(stored, Visit) == []
    values = {(m.name, m.side): m for m in of_kind(stored, Measure)}
    told = {key: m.value for key, m in values.items()}
    assert told["worst_pain", None] == 3
    assert told["night_pain", None] is Absence.DECLINED
    assert told["active_abduction", None] is Absence.NOT_MEASURED
    assert told["active_flexion", "LEFT"] == 170
    assert told["abduction_strength", None] is Absence.PROHIBITED
    assert values["active_external_rotation", None].limited_by == "pain"
    assert values["passive_flexion", None].repeated
    assert not values["passive_external_rotation", None].repeated
    scores = {s.instrument: (s.total, s.items) for s in of_kind(stored, Score)}
    assert scores == {"SPADI": (58, ()), "PSFS": (4, (4,))}


async def test_a_total_without_its_questionnaire_is_refused_and_stays(door: Door) -> None:
    before = newest(door)
    async with FormApp(MeasuresScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("<pagedown>", "<down>", "<down>", "58", "<f2>"))
        assert "outcome score: choose which questionnaire the total is of." in painted(pilot)
        await press(pilot, "1", "f2")
    assert [s.total for s in of_kind(new_entries(door, "BY-018", before), Score)] == [58]


async def test_a_total_out_of_its_range_is_named(door: Door) -> None:
    """The fourth score of the region is the Oxford score, since DASH is one too (ruling 88)."""
    async with FormApp(MeasuresScreen(door, door.standing("BY-018"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("<pagedown>", "<down>", "4", "58", "<enter>"))
        assert '"58" is no total, allowed is 0 to 48, i incomplete, d declined.' in painted(pilot)


@pytest.mark.parametrize(
    ("values", "total"),
    [((3, 4, 2), "3"), ((6, 7, 5), "6"), ((4, 3), "3.5"), ((4, 3, 4), "3.67"), ((0,), "0")],
)
def test_patient_specific_function_is_the_mean(values: tuple[int, ...], total: str) -> None:
    # Evidence table 1.8: activities 3, 4, 2 give 3.0; later 6, 7, 5 give 6.0.
    assert mean(values) == Decimal(total)


@pytest.mark.parametrize(
    ("codes", "expected"),
    [
        (["BY-108", "BY-003"], "BY-109"),
        (["BY-099"], "BY-100"),
        (["A7", "BY-001", "BY-002"], "BY-003"),
        ([], "C-001"),
        (["shoulder"], "C-001"),
    ],
)
def test_the_next_code_follows_the_commonest_pattern(codes: list[str], expected: str) -> None:
    assert next_code(codes, "C-001") == expected


@pytest.mark.parametrize(
    ("text", "when"),
    [
        ("12w", TODAY - timedelta(weeks=12)),
        ("-60", TODAY - timedelta(days=60)),
        ("2025-11-30", date(2025, 11, 30)),
        ("12 jan", date(2026, 1, 12)),
        ("", None),
    ],
)
def test_dates_as_they_are_typed(text: str, when: date | None) -> None:
    assert read_when(text, TODAY) == (when, "")


def test_a_date_ahead_is_refused_where_it_happened_and_one_behind_where_it_is_booked() -> None:
    assert "lies ahead" in read_when("+3", TODAY, label="when")[1]
    assert "lies behind" in read_when("-3", TODAY, ahead=True, label="next visit")[1]
    assert read_when("soon", TODAY, label="when")[1].startswith('when: "soon" is no date')


@pytest.mark.parametrize(
    ("text", "total"),
    [("58", Decimal(58)), ("i", None), ("d", Absence.DECLINED), ("", Absence.NOT_ASKED), ("0", Decimal(0))],
)
def test_an_empty_total_is_not_asked_and_nought_is_nought(text: str, total: object) -> None:
    assert read_total(text, "total", Decimal(0), Decimal(100)) == (total, "")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("3", ("", 3, "")),
        ("x", ("", 10, "")),
        ("d", ("", Absence.DECLINED, "")),
        ("reach up 3", ("reach up", 3, "")),
        ("walk 5 km 10", ("walk 5 km", 10, "")),
        ("reach up", ("reach up", Absence.NOT_ASKED, "")),
        ("", ("", Absence.NOT_ASKED, "")),
        ("reach up 14", ("", Absence.NOT_ASKED, "one: 14 is no rating: 0-9, x for 10, or d for declined.")),
        ("a; b 3", ("", Absence.NOT_ASKED, "one: a name has at most 30 characters and no semicolon.")),
    ],
)
def test_an_own_activity_in_one_line(text: str, said: tuple[str, object, str]) -> None:
    assert tuple(read_activity(text, "one")) == said
    assert read_activity("swim 3", "one", "swim").fault == ""
    assert "another activity goes on an empty row" in read_activity("run 3", "one", "swim").fault


async def test_an_own_activity_is_named_once_and_asked_by_its_name_in_its_place(door: Door) -> None:
    """Three bare digits are three ratings, as before; what is not rated keeps its place."""
    for typed in (("reach up 3", "<enter>", "4", "<enter>"), ("5", "<enter>", "swim 2", "<enter>")):
        app = FormApp(MeasuresScreen(door, door.standing("BY-018")))
        async with app.run_test(size=(80, 40)) as pilot:
            await settle(pilot)
            await haste(pilot, keys("<pagedown>"))
            app.form.row("function-1").focus()
            assert ("reach up" in painted(pilot)) is (typed[0] == "5")
            await haste(pilot, keys(*typed, "<f2>"))
    first, then = [s for s in door.record("BY-018").scores if s.instrument == "PSFS"][-2:]
    assert (first.activities, first.items, first.total) == ("reach up", (3, 4), Decimal("3.5"))
    assert (then.activities, then.items, then.total) == ("reach up; ; swim", (5, None, 2), Decimal("3.5"))
    assert "reach up, swim" in door.words(then)
    assert own_activities(door.record("BY-018").scores) == ("reach up", "", "swim")
    app = FormApp(ItemsScreen(door, door.standing("BY-018")))
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        app.form.row("instrument").take("PSFS")
        await settle(pilot)
        shown = painted(pilot)
        assert "item 1 reach up" in shown
        assert "item 2 activity" in shown
        assert "item 3 swim" in shown
