"""Charts of a case, driven by keys over the demo caseload; and what is drawn for invented cases."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.record.fields import Absence
from armrise.tui.case.case import CaseScreen
from armrise.tui.charts.page import Column, Days, tabled
from armrise.tui.charts.pain import baseline_page, pain_page, window
from armrise.tui.charts.range import range_page, strength_page
from armrise.tui.charts.score import score_page
from armrise.tui.charts.screen import ChartsScreen
from armrise.tui.charts.texts import Room, written
from tests.clinic.build import TODAY, case, on, rules
from tests.tui.case_store import at_case, press
from tests.tui.form_store import app_on, painted

SMALL = (80, 24)
END = pytest.approx(21 * 1.05)
ROTATION = "passive_external_rotation"
STRENGTH = "external_rotation_strength"


def seen(built):
    return View.of(built.record(), rules(), TODAY)


# keys


async def test_pain_stands_against_its_limit_with_stages_and_flares_marked(app):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-018", "enter", "g")
        told = painted(pilot)
        for text in (
            "BY-018 RIGHT",
            "FICTIONAL CASELOAD",
            "[1 pain]",
            "○ during + later that day ● next morning ──L limit during and later",
            "RC3 Build F F",
            "Limits in RC3 Build: during 4, later 4, next morning at most 1 above usual.",
            "F 2 flare days, the newest Sat 28 Feb: next morning 6, 4 above baseline.",
        ):
            assert text in told, text
        await press(pilot, "a")
        assert "worst, Fri 12 Dec 2025 to Mon 2 Mar" in painted(pilot)
        await press(pilot, "escape")
        assert isinstance(pilot.app.screen, CaseScreen)


async def test_every_page_has_its_digit_and_drift_shows_its_movement_first(app):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-027", "g", "2")
        told = painted(pilot)
        assert "Passive external rotation at side, degrees, higher is better (1 of 4)" in told
        assert "░ measurement error of same rater TK" in told
        for words in ("best 60", "watch from 50", "act from 45", "● 42", "○ 65"):
            assert words in told, words
        assert "passive external rotation at side 60 to 58 to 45 to 42 degrees, same rater" in told
        await press(pilot, "right")
        assert "Passive flexion, degrees" in painted(pilot)
        await press(pilot, "left", "left")
        assert "Active flexion, degrees, higher is better (4 of 4)" in painted(pilot)
        await press(pilot, "3")
        told = painted(pilot)
        assert "SPADI, 0 to 100, lower is better" in told
        for words in ("acceptable 30", "response 36", "better 31", "worse 67", "● 44"):
            assert words in told.replace("░", " "), words
        await press(pilot, "4")
        assert "58 to 63 per cent: within measurement error" in painted(pilot)
        await press(pilot, "5")
        assert "Usual next-morning pain (baseline)" in painted(pilot)


async def test_the_table_is_one_key_away_on_every_page(app):
    async with app.run_test(size=(100, 40)) as pilot:
        await at_case(pilot, "BY-018", "g", "T")
        told = painted(pilot)
        assert "exercise day during later next morning usual answer to the load" in told
        assert "Sat 28 Feb 5 4 6 2 flare: next morning 6, 4 above baseline" in told
        assert "○ during" not in told
        await press(pilot, "2")
        assert "Wed 18 Feb RIGHT 58 TK goniometer" in painted(pilot)
        await press(pilot, "4")
        assert "+/- 15 % TK" in painted(pilot)
        await press(pilot, "T")
        assert "measurement error" in painted(pilot)
        assert "+/-" not in painted(pilot)


async def test_the_arrows_do_nothing_where_there_is_one_chart(app):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-018", "g")
        assert "next chart" not in painted(pilot)
        before = painted(pilot)
        await press(pilot, "right")
        assert painted(pilot) == before
        await press(pilot, "2")
        assert "Right next chart" in painted(pilot)
        assert "all days" not in painted(pilot)


async def test_without_data_a_sentence_says_what_to_record(app):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-102", "g", "2")
        assert "Never measured: passive external rotation at side. Record it" in painted(pilot)
        await press(pilot, "4")
        assert "Never measured: external rotation strength." in painted(pilot)
        await press(pilot, "3")
        assert "OSS" in painted(pilot)


async def test_an_ascii_terminal_shows_the_table_and_says_why(door, monkeypatch):
    monkeypatch.setenv("LC_ALL", "C")
    async with app_on(door).run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-027", "g")
        for key in ("1", "2", "3", "4", "5", "T"):
            await press(pilot, key)
            told = painted(pilot)
            assert told.isascii(), {c for c in told if ord(c) > 127}
            assert "This terminal shows no charts: these are the same values." in told


async def test_colour_carries_nothing(app, door, monkeypatch):
    async with app.run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-027", "g", "2")
        coloured = painted(pilot)
    monkeypatch.setenv("NO_COLOR", "1")
    async with app_on(door).run_test(size=SMALL) as pilot:
        await at_case(pilot, "BY-027", "g", "2")
        assert pilot.app.no_color
        assert painted(pilot) == coloured


async def test_charts_follow_what_is_recorded_meanwhile(app, door):
    async with app.run_test(size=(100, 30)) as pilot:
        await at_case(pilot, "BY-102", "g", "2", "T")
        assert isinstance(pilot.app.screen, ChartsScreen)
        door.append("BY-102", [door.draft("measure", name=ROTATION, value=Absence.PROHIBITED)])
        pilot.app.screen_stack[0].read_again()
        await press(pilot, "down", "down")
        assert "Mon 2 Mar LEFT prohibited" in painted(pilot)


# pages


def test_scores_of_one_day_stand_side_by_side_and_are_never_joined_across_a_gap():
    page = pain_page(seen(case("RC2", day=30).session(-5, 3, None, 2)), Days(on(-10), TODAY))
    drawn = {m.char: list(zip(m.xs, m.ys, strict=True)) for m in page.marks}
    assert drawn == {"○": [(5.05, 3.0)], "+": [], "●": [(5.71, 2.0)]}
    assert page.rows[0][1:5] == ["3", "not asked", "2", "unknown"]


def test_a_limit_line_is_as_long_as_its_stage():
    page = pain_page(seen(case("FS2", day=10, first=40).session(-5, 3, 3, 2)), Days(on(-20), TODAY))
    lines = [(s.xs, s.ys, s.edge) for s in page.strokes]
    assert lines == [
        ([0.0, 10.0], [3, 3], ""),
        ([10.0, END], [5, 5], "L"),
        ([10.0, END], [4.0, 4.0], "l"),
    ]
    assert [(a.x, a.text) for a in page.above[0]] == [(0.0, "│FS1 Pain-predominant"), (10.0, a_name("FS2"))]


def a_name(code):
    return f"│{code} {rules().pathways[code[:2]].stage(code).name}"


def test_two_raters_bring_two_sets_of_lines_and_say_what_counts():
    built = case("RC2", day=38).measure(-37, ROTATION, 60).measure(-3, ROTATION, 50, rater="AB")
    page = range_page(seen(built), ROTATION)
    assert [s.edge for s in page.strokes if s.edge] == [
        "best 50, AB", "watch from 40, AB", "act from 35, AB",
        "best 60, different raters", "watch from 40, different raters", "act from 35, different raters",
    ]  # fmt: skip
    assert [(b.low, b.high, b.words) for b in page.bands] == [(40, 50, "measurement error of same rater AB")]
    assert page.notes[0] == "Fri 27 Feb: 50, 10 below the best by different raters: within measurement error."
    assert "Different raters: a loss counts from 20 degrees (watch) and 25 (act)" in page.notes[2]


def test_a_repeated_value_is_in_the_table_marked_and_not_drawn():
    built = case("RC2", day=38).measure(-37, ROTATION, 60).measure(-3, ROTATION, 60, repeated=True)
    page = range_page(seen(built), ROTATION)
    assert [len(m.xs) for m in page.marks] == [0, 1]
    assert page.rows[0][2:] == ["60", "TK", "repeated, not measured, goniometer, lying"]
    assert "1 repeated value not drawn: repeated, not measured." in page.notes


def test_absences_keep_their_words_in_the_tables():
    built = case("RC2", day=38, scored=False).measure(-3, ROTATION, Absence.DECLINED)
    built.measure(-3, STRENGTH, Absence.PROHIBITED).score(-3, "SPADI", None).score(
        -2, "SPADI", Absence.DECLINED
    )
    view = seen(built)
    assert range_page(view, ROTATION).rows[0][2] == "declined"
    assert range_page(view, ROTATION).empty.startswith(
        "No measured value of passive external rotation at side"
    )
    assert strength_page(view, STRENGTH).rows[0][1:4] == ["prohibited", "-", "-"]
    scores = score_page(view, "SPADI")
    assert [row[1] for row in scores.rows] == ["declined", "-"]
    assert scores.rows[1][3] == "form incomplete, no total"
    assert scores.empty.startswith("No total of SPADI recorded")


def test_a_score_says_its_direction_and_both_thresholds():
    built = case("RC2", day=40, scored=False).score(-39, "SPADI", 46).score(-1, "SPADI", 41)
    page = score_page(seen(built), "SPADI")
    assert page.title == "SPADI, 0 to 100, lower is better"
    assert page.notes[0] == (
        "5 points better than the first: response from 13 points; beyond measurement error from 18 points."
        " Response not reached."
    )
    assert [row[2] for row in page.rows] == ["5 better", "first"]


def test_creep_is_marked_on_its_days_and_said():
    built = case("OA2", day=40).mornings(-39, *[2] * 12).mornings(-20, *[3] * 10).mornings(-9, *[4] * 9)
    page = baseline_page(seen(built), Days(on(-39), TODAY))
    assert page.above[1]
    assert {a.text for a in page.above[1]} == {"C"}
    assert page.notes == ["C Morning pain has crept from 2 to 4 since Sat 24 Jan."]
    assert "┈┈C crept from 4" in page.legend


def test_the_window_shows_the_last_days_and_two_weeks_at_least():
    built = case("RC2", day=90).session(-80, 3, 3, 2).session(-5, 3, 3, 2)
    assert window(seen(built), 24) == Days(on(-23), TODAY)
    assert window(seen(built), None) == Days(on(-81), TODAY)
    assert window(seen(case("RC2", day=5)), 24) == Days(on(-13), TODAY)
    page = pain_page(seen(built), window(seen(built), 24))
    assert "1 earlier day not shown: a shows all." in page.notes
    assert (
        "a shows all days"
        in pain_page(seen(case("RC2", day=90).session(-80, 3, 3, 2)), Days(on(-9), TODAY)).empty
    )


@pytest.mark.parametrize("cells", [30, 72, 112])
@pytest.mark.parametrize("back", [13, 60, 400])
def test_dates_below_a_chart_do_not_run_into_each_other(cells, back):
    days = Days(on(-back), TODAY)
    ticks = days.ticks(cells)
    places = [at / days.end * cells for at, _ in ticks]
    assert all(b - a >= 8 for a, b in pairwise(places))
    assert all(3 <= place <= cells - 3 for place in places)
    assert all(date.fromordinal(days.first.toordinal() + int(at)).weekday() == 0 for at, _ in ticks)


def test_a_table_hangs_its_last_column_and_aligns_numbers():
    columns = [Column("day"), Column("degrees", right=True), Column("how")]
    lines = [line[0].text for line in tabled(columns, [["Mon", "5", "one two three four"]], 28)]
    assert lines == ["day  degrees  how", "Mon        5  one two three", "              four"]


# what is written into a chart


def room_of(page, cells=72, rows=11):
    return Room(page, cells, rows)


def test_every_value_stands_in_the_chart_and_none_hides_a_point_or_another():
    built = case("RC2", day=60).measure(-50, ROTATION, 65, other=True)
    for day, value in ((-50, 60), (-49, 58), (-48, 58), (-30, 45), (-3, 42), (-2, 42)):
        built = built.measure(day, ROTATION, value)
    room = room_of(range_page(seen(built), ROTATION, low_window=True))
    texts = written(room)
    told = sorted(t.words for t in texts if t.words.isdigit())
    assert told == ["42", "42", "45", "58", "58", "60", "65"]
    points = {(room.column(x), room.row(y)) for m in room.page.marks for x, y in zip(m.xs, m.ys, strict=True)}
    cells = [(t.column + n, t.row) for t in texts for n in range(len(t.words))]
    assert len(set(cells)) == len(cells)
    assert points.isdisjoint(cells)


def test_in_a_low_window_a_loss_and_its_levels_take_rows_of_their_own():
    """60, watch from 50, act from 45, and 42: on the whole scale two of them shared a row at 80 by 24."""
    built = case("RC2", day=60).both(-50, ROTATION, 60, 65).measure(-3, ROTATION, 42)
    room = room_of(range_page(seen(built), ROTATION, low_window=True))
    assert len({room.row(y) for y in (60, 50, 45, 42)}) == 4
    tall = range_page(seen(built), ROTATION)
    assert tall.high - tall.low >= 60


def test_lines_of_one_level_are_each_named():
    built = case("RC2", day=38).measure(-37, ROTATION, 60).measure(-3, ROTATION, 50, rater="AB")
    texts = written(room_of(range_page(seen(built), ROTATION)))
    named = [t for t in texts if "from" in t.words or "best" in t.words]
    assert len({t.row for t in named}) == len(named) == 6
    assert all(t.column + len(t.words) <= 72 for t in named)


def test_a_score_is_read_against_its_own_error():
    built = case("RC2", day=40, scored=False).score(-39, "SPADI", 46).score(-1, "SPADI", 41)
    page = score_page(seen(built), "SPADI", low_window=True)
    assert [(b.low, b.high) for b in page.bands] == [(28, 64)]
    assert (page.low, page.high) != (0, 100)
    assert all(page.low <= y <= page.high for s in page.strokes for y in s.ys)
