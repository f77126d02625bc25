"""The patient's sheet as a page: what stands first, what is left out, and a diary that types itself."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.clinic.case.view import View
from armrise.store.entries.strip import Cell, Exercised, NotTold, Rest, Strip, read
from armrise.store.exchange.paper.page import CodeMark, Lines, Page, Part, Table, Text
from armrise.store.exchange.paper.patient import DIARY_DAYS, diary, patient_page
from armrise.store.rules.words.read import english
from tests.clinic.build import TODAY, Builder, case, rules, waiting
from tests.clinic.demo_records import demo, records
from tests.clinic.spoken import exercises
from tests.clinic.test_79_patient_words_on_pain import flaring

MOST_DAYS = 42


def page(made: Builder, **how: object) -> Page:
    found = patient_page(View.of(made.record(), rules(), TODAY), **how)  # type: ignore[arg-type]
    assert found is not None
    return found


def headings(found: Page) -> list[str]:
    return [part.heading for part in found.parts if part.heading]


def text_of(part: Part) -> str:
    told: list[str] = []
    for block in part.blocks:
        if isinstance(block, Text):
            told.append(block.text)
        elif isinstance(block, Lines):
            told += block.items
    return "\n".join(told)


def part_of(found: Page, heading: str) -> str:
    return next(text_of(part) for part in found.parts if part.heading == heading)


# --- what stands on it ------------------------------------------------------------------------------------


def test_one_case_by_its_code_alone():
    made = case("RC2", day=5).programme(-3, "R1", exercise="band row")
    found = page(made)
    assert found.title == "Your RIGHT shoulder, Mon 2 Mar 2026"
    assert found.mark == CodeMark("C-01")
    assert found.foot == ("C-01, Mon 2 Mar 2026",)
    said = ["Today", "Your exercises", "Pain", "Ring us if", "Your diary"]
    assert headings(found) == said[1:]  # nothing holds this shoulder back
    assert (found.large, found.language, found.fictional) == (False, "en", "")
    assert page(made, fictional=True).fictional == "FICTIONAL: nobody has this shoulder."
    assert page(made, large=True).large


def test_the_next_visit_stands_under_the_title():
    caution = "This sheet does not replace what your physiotherapist or surgeon tells you."
    made = case("RC2", day=5)
    assert page(made).top == (Text(caution), Text("Your next visit: not booked yet", "strong"))
    assert page(made.booked(1)).top[-1] == Text("Your next visit: Tue 3 Mar, tomorrow", "strong")
    assert page(case("RC4", day=30).discharge(-2)).top == (Text(caution),)


def test_orders_and_sling_stand_before_the_exercises():
    made = case("PO1", day=5).orders(-1, sling_until=date(2026, 4, 1), external_rotation_limit=0)
    found = page(made.programme(-1, "P0", exercise="pendular swing"))
    assert headings(found)[:2] == ["Today", "Your exercises"]
    assert "Keep the sling on until Wed 1 Apr." in part_of(found, "Today")
    assert "no further than straight ahead." in part_of(found, "Today")
    assert "Do not lift or move the arm by its own strength." in part_of(found, "Today")


def test_an_open_red_flag_comes_first_of_all_and_then_no_exercise():
    made = case("PO2", day=5).programme(-3, "P1", exercise="pendular swing")
    found = page(made.screen(-1, "wound discharge or fever after surgery", "yes"))
    assert [(block.text, block.look) for block in found.top[:2] if isinstance(block, Text)] == [
        (
            "Ring your surgical team today; if you cannot reach them, go to hospital. "
            "The wound or the fever has to be looked at.",
            "boxed",
        ),
        ("Leave out the exercises until you have been seen.", "boxed"),
    ]
    assert headings(found) == ["Today", "Ring us if"]
    assert "sling" in part_of(found, "Today")
    assert "pendular" not in str(found)


def test_each_exercise_is_a_block_of_its_own():
    from armrise.store.clinic.programme.ladder import start_of
    from armrise.store.record.kinds.programme import ProgrammeItem

    name = "band external rotation, lowering only"
    (named,) = [one for one in rules().exercises if one.name == name]
    made = case("RC2", day=5).add(ProgrammeItem, -1, **start_of(named))
    assert part_of(page(made), "Your exercises").split("\n") == [
        name,
        "the other arm takes the band out, then let it back over 3 to 4 seconds with the sore side, "
        "about 70 degrees",
        "2 sets of 10 to 15, every other day; effort 4 of 10",
    ]


def test_an_exercise_that_healing_bars_is_named_as_left_out():
    made = case("PO2", day=19, onset=33).programme(-9, "R1", exercise="band row")
    assert part_of(page(made), "Your exercises") == "leave out for now: band row"


def test_after_a_flare_the_dose_before_the_raise_is_printed():
    """Ruling 79."""
    found = page(flaring(raised=-5))
    assert part_of(found, "Your exercises") == "band row\n3 sets of 10, band grade 1, 3 times a week"
    assert "Go back to band row" in part_of(found, "Pain")


def test_whom_to_ring_and_the_emergency_line_are_on_every_sheet():
    for made in (case("RC2", day=5), waiting(), case("RC4", day=30).discharge(-2)):
        told = part_of(page(made), "Ring us if")
        assert told.startswith(english().say("sheet.emergency"))
        assert "Ring the clinic: ____" in told
        assert "hands clumsy or legs unsteady" in told


def test_a_closed_case_has_no_diary_and_a_death_no_sheet():
    found = page(case("RC4", day=30).discharge(-2))
    assert headings(found) == ["Today", "Ring us if"]
    assert part_of(found, "Today") == "Your treatment with us has ended."
    died = case("RC4", day=30).discharge(-2, "died")
    assert patient_page(View.of(died.record(), rules(), TODAY)) is None


def test_without_a_programme_that_is_said_and_the_diary_is_there():
    found = page(case("RC2", day=5))
    assert part_of(found, "Your exercises") == "none written down yet"
    assert headings(found)[-1] == "Your diary"


def test_every_case_of_the_demonstration_has_all_its_exercises_on_it():
    every = records(demo())
    for record in every:
        view = View.of(record, rules(), TODAY)
        found = patient_page(view)
        assert found is not None
        said = "\n".join(text_of(part) for part in found.parts)
        for line in exercises(view):
            assert line.partition(": ")[0] in said
        others = [other.code for other in every if other.code != record.code]
        assert not [code for code in others if code in json.dumps(said)]


# --- the diary, typed from the grid -----------------------------------------------------------------------


def grid_of(part: Part) -> Table:
    (table,) = [block for block in part.blocks if isinstance(block, Table)]
    assert table.to_fill
    return table


def test_the_diary_begins_on_the_day_asked_and_says_how_the_line_begins():
    found = page(case("RC2", day=5), start=date(2026, 3, 5))
    table = grid_of(found.parts[-1])
    assert [row[0] for row in table.rows][:2] == ["Thu 5 Mar", "Fri 6 Mar"]
    assert len(table.rows) == DIARY_DAYS
    assert "2026-03-05:" in table.notes[0]
    assert grid_of(page(case("RC2", day=5)).parts[-1]).rows[0][0] == "Mon 2 Mar"
    assert all(cell == "" for row in table.rows for cell in row[1:])


def test_in_large_print_the_diary_has_a_page_of_its_own():
    assert page(case("RC2", day=5), large=True).parts[-1].new_page
    assert not page(case("RC2", day=5)).parts[-1].new_page


pain = st.none() | st.integers(0, 10)


@st.composite
def diaries(draw: st.DrawFn) -> Strip:
    """Fourteen days as a patient may tell them, on waking after the last not yet."""
    start = draw(st.dates(date(2025, 1, 1), date(2030, 1, 1)))
    cells: list[Cell] = []
    for n in range(DIARY_DAYS):
        on, morning = start + timedelta(days=n), draw(pain)
        kind = draw(st.sampled_from(["exercised", "exercised", "rest", "not told"]))
        if kind == "exercised":
            times = draw(st.none() | st.integers(1, 6))
            cells.append(Exercised(on, draw(pain), draw(pain), morning, times, draw(st.booleans())))
        else:
            cells.append(Rest(on, morning) if kind == "rest" else NotTold(on))
    return Strip(tuple(cells))


def filled(row: tuple[str, ...], cell: Cell) -> tuple[str, ...]:
    """A row as the patient fills it in: during, later, next morning, times, all or part."""

    def number(value: int | None) -> str:
        return "" if value is None else str(value)

    if isinstance(cell, NotTold):
        return row
    if isinstance(cell, Rest):
        return (row[0], "-", "", number(cell.morning), "", "")
    told = (number(cell.during), number(cell.later), number(cell.morning), number(cell.times))
    return (row[0], *told, "part" if cell.part else "all")


def typed(row: tuple[str, ...]) -> str:
    """What the clinic types of a row, box by box from left to right."""
    _, during, later, morning, times, part = row
    if not any(row[1:]):
        return "?"
    if during == "-":
        return f"-{morning}"
    triple = " ".join(value or "." for value in (during, later, morning))
    return triple + (f"*{times}" if times else "") + ("!" if part == "part" else "")


@settings(max_examples=60, deadline=None)
@given(diaries())
def test_a_filled_in_grid_read_box_by_box_is_the_diary_strip(told: Strip):
    """Ruling 74: during, later, on waking the day after; times; part of the dose."""
    start = told.cells[0].on
    table = grid_of(diary(english(), start))
    rows = [filled(row, cell) for row, cell in zip(table.rows, told.cells, strict=True)]
    begins = next(word for word in table.notes[0].split() if word.startswith(start.isoformat()))
    line = begins + " " + "/".join(map(typed, rows))
    assert read(line, start + timedelta(days=DIARY_DAYS), MOST_DAYS) == told


def test_its_columns_are_in_the_order_of_the_strip():
    head = grid_of(diary(english(), TODAY)).head
    names = ("day", "during", "later", "next_morning", "times", "part")
    assert head == tuple(english().say(f"diary.{name}") for name in names)


# --- on paper ---------------------------------------------------------------------------------------------


def test_no_case_of_the_demonstration_takes_more_than_two_sides() -> None:
    """Of the three with the most to say, on the shorter paper, as PDF; another library counts the pages."""
    pytest.importorskip("fpdf")
    from pypdfium2 import PdfDocument

    from armrise.store.exchange.paper.pdf import as_pdf

    made = [patient_page(View.of(record, rules(), TODAY), fictional=True) for record in records(demo())]
    longest = sorted((one for one in made if one), key=lambda one: -len(str(one.parts)))[:3]
    assert [len(PdfDocument(as_pdf(one, "Letter"))) for one in longest] == [2] * 3
