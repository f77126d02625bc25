"""Cells, dates and headings of clinics' spreadsheets: each is read as what it says, or refused and why."""

from __future__ import annotations

from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

import pytest

from armrise.store.exchange.sheets.files.table import decimal_of, letter
from armrise.store.exchange.sheets.meanings import meanings, named
from armrise.store.exchange.sheets.propose import proposed
from armrise.store.exchange.sheets.reading import texts
from armrise.store.exchange.sheets.reading.cells import Reading, Scale, Told, Unread, level, number
from armrise.store.exchange.sheets.reading.dates import DAY_FIRST, MONTH_FIRST, Days, Order, settled
from armrise.store.exchange.sheets.reading.forms import DEGREES, HUNDRED, LEVEL, examples
from armrise.store.exchange.sheets.rows import PAIN, reader_of
from armrise.store.record.fields import Absence
from armrise.store.rules.read import load
from tests.store.drafts import TODAY

KG = Scale(Decimal(0), Decimal(200), 2, "kg", "strength")
GRADE = Scale(Decimal(0), Decimal(5), 2, "grade", "strength in grades")


def said(read: Reading) -> Any:
    """The value, None for nothing, or the first words of the reason."""
    return read.why if isinstance(read, Unread) else read.value if isinstance(read, Told) else None


@pytest.mark.parametrize(
    ("cell", "scale", "value"),
    [
        ("7", PAIN, 7),
        (7.0, PAIN, 7),
        (" 7 ", PAIN, 7),
        ("7\u00a0/ 10", PAIN, 7),
        ("7 of 10", PAIN, 7),
        ("0", PAIN, 0),
        ("-0", PAIN, 0),
        ("10/10", PAIN, 10),
        ("7,0", PAIN, 7),
        ("110°", DEGREES, 110),
        ("110 deg", DEGREES, 110),
        ("32,5", DEGREES, Decimal("32.5")),
        ("−5", DEGREES, -5),
        (0.1 + 0.2, DEGREES, Decimal("0.3")),
        ("45/100", HUNDRED, 45),
        ("45 %", HUNDRED, 45),
        ("12,5 kg", KG, Decimal("12.5")),
        ("4/5", GRADE, 4),
    ],
)
def test_a_number_is_read_on_its_scale(cell: Any, scale: Scale, value: Any) -> None:
    assert said(number(cell, scale)) == value


@pytest.mark.parametrize(
    ("cell", "scale", "why"),
    [
        ("6-7", PAIN, "two values"),
        ("6 – 7", PAIN, "two values"),
        ("6 to 7", PAIN, "two values"),
        ("6 7", PAIN, "two values"),
        ("6 or 7", PAIN, "two values"),
        ("11", PAIN, "out of range"),
        ("-1", PAIN, "out of range"),
        ("3,5", PAIN, "no whole number"),
        ("70/100", PAIN, "of 100, and pain is of 10"),
        ("7/11", PAIN, "of 11"),
        ("7/10", DEGREES, "a number of another"),
        (">90", DEGREES, "no exact value"),
        ("about 40", DEGREES, "no exact value"),
        ("~40", DEGREES, "no exact value"),
        ("90+", DEGREES, "no exact value"),
        ("1,234", KG, "thousands or decimals"),
        ("1.234", KG, "thousands or decimals"),
        ("110 pain", DEGREES, "beside the number"),
        ("10 lb", KG, "beside the number"),
        ("seven", PAIN, "no number"),
        ("007", PAIN, "no number"),
        ("7/010", PAIN, "of 010"),
        ("none", PAIN, "no number"),
        ("nil", PAIN, "no number"),
        ("٧", PAIN, "no number"),
        ("½", PAIN, "no number"),
        ("1e1", PAIN, "beside the number"),
        ("=A1+1", PAIN, "formula"),
        ("#REF!", PAIN, "error"),
        ("#N/A", PAIN, "no value"),
        (date(2026, 10, 7), PAIN, "is a date"),
        (datetime(2026, 10, 7, 1), PAIN, "is a date"),
        (time(7, 10), PAIN, "is a time"),
        ("TRUE", PAIN, "no number"),
        (float("inf"), PAIN, "out of range"),
        (12.345, KG, "more than 2 decimals"),
    ],
)
def test_a_number_in_doubt_is_refused(cell: Any, scale: Scale, why: str) -> None:
    assert why in said(number(cell, scale))


@pytest.mark.parametrize("cell", ["", " ", "-", "–", "?", "."])
def test_nothing_told_is_never_zero(cell: str) -> None:
    assert number(cell, PAIN) is None
    assert Days(Order(), TODAY).read(cell) is None


@pytest.mark.parametrize(
    ("cell", "scale", "absence"),
    [
        ("N/A", PAIN, Absence.NOT_ASKED),
        ("n/a", DEGREES, Absence.NOT_MEASURED),
        ("not asked", PAIN, Absence.NOT_ASKED),
        ("Declined", DEGREES, Absence.DECLINED),
        ("prohibited", DEGREES, Absence.PROHIBITED),
    ],
)
def test_an_absence_is_one_of_the_four(cell: str, scale: Scale, absence: Absence) -> None:
    assert said(number(cell, scale)) is absence


def test_a_level_is_named_and_never_a_bare_number() -> None:
    assert [said(level(cell, LEVEL)) for cell in ("T7", "l 5", "buttock", "N/A")] == [
        13,
        3,
        1,
        Absence.NOT_MEASURED,
    ]
    assert "no level" in said(level("12", LEVEL))
    assert "no level" in said(level(12.0, LEVEL))
    assert "no level" in said(level("knee", LEVEL))


def test_shares_that_a_spreadsheet_shows_as_per_cent_are_not_taken_for_points() -> None:
    from armrise.store.exchange.sheets.row import Given

    given = Given(load(), TODAY, datetime(2026, 3, 2), "TK")
    spadi = meanings()["SPADI"]
    shares = reader_of(spadi, given, lambda: [0.45, 1.0, 0.0], Order())
    assert [said(shares(cell)) for cell in (0.0, 45.0)] == [0, 45]
    assert all("share" in said(shares(cell)) for cell in (0.45, 1.0))
    assert said(reader_of(spadi, given, lambda: [45.0, 1.0], Order())(1.0)) == 1


# dates

IN_MARCH = date(2026, 3, 4)


@pytest.mark.parametrize(
    "cell",
    [
        "2026-03-04",
        "2026/3/4",
        "20260304",
        "4 Mar 2026",
        "4th March 2026",
        "Wed 4 Mar 2026",
        "March 4, 2026",
        "2026-03-04T09:15",
        date(2026, 3, 4),
        datetime(2026, 3, 4, 9, 15),
    ],
)
def test_a_date_beyond_doubt_needs_nothing_else(cell: Any) -> None:
    assert said(Days(Order(), IN_MARCH).read(cell)) == IN_MARCH


@pytest.mark.parametrize("cell", ["04/03/2026", "4.3.2026", "04-03-26", "4/3/26"])
def test_a_date_in_doubt_is_refused_until_somebody_says_which_comes_first(cell: str) -> None:
    assert isinstance(Days(Order(), IN_MARCH).read(cell), Unread)
    assert said(Days(Order(DAY_FIRST, "", said=True), IN_MARCH).read(cell)) == IN_MARCH
    assert said(Days(Order(MONTH_FIRST, "", said=True), date(2026, 12, 1)).read(cell)) == date(2026, 4, 3)


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("31/02/2026", "no day of the calendar"),
        ("2026-02-30", "no day of the calendar"),
        ("Tue 4 Mar 2026", "was no Tue"),
        ("05/03/2027", "ahead"),
        ("46085", "no date"),
        (46085.0, "number and no date"),
        ("04.03", "no date"),
        ("Easter", "no date"),
        ("4 Foo 2026", "no date"),
        ("12/25/2026", "no date with the day first"),
        ("1899-01-01", "years 1900"),
    ],
)
def test_what_is_no_date_says_why(cell: Any, why: str) -> None:
    assert why in said(Days(Order(DAY_FIRST), IN_MARCH).read(cell))


def test_a_column_settles_its_dates_where_one_has_a_day_above_12() -> None:
    cells: list[Any] = ["03/02/2026", "25/02/2026", ""]
    assert settled(enumerate(cells))[:2] == (DAY_FIRST, "row 1 has 25/02/2026")
    assert settled(enumerate(["02/25/2026"])).first == MONTH_FIRST
    assert settled(enumerate(["25/02/2026", "02/25/2026"])).first == ""
    assert settled(enumerate(["25/02/26"])).first == "", "25 may be a year"
    assert settled(enumerate(["03/02/2026"])).first == ""
    assert settled(enumerate(["03/02/2026"]), MONTH_FIRST).first == MONTH_FIRST


def test_dates_that_a_spreadsheet_made_among_texts_may_be_swapped() -> None:
    """What opens a file with another country's order makes dates of some and leaves 25/02/2026 a text."""
    order = settled(enumerate([date(2026, 2, 3), "25/02/2026"]))
    assert order.mixed
    days = Days(order, IN_MARCH)
    assert "swapped" in said(days.read(date(2026, 2, 3)))
    assert said(days.read(date(2026, 2, 20))) == date(2026, 2, 20)
    assert said(days.read("25/02/2026")) == date(2026, 2, 25)


# words


@pytest.mark.parametrize(
    ("cell", "side"),
    [("L", "LEFT"), ("left", "LEFT"), ("Rt.", "RIGHT"), ("RIGHT shoulder", "RIGHT"), ("n/a", None)],
)
def test_a_side_is_read_from_a_word_or_a_letter(cell: str, side: str | None) -> None:
    assert said(texts.side(cell)) == side


def test_two_sides_and_none_are_refused() -> None:
    assert "two shoulders" in said(texts.side("bilateral"))
    assert "no side" in said(texts.side("dominant"))


def test_a_pathway_is_its_code_or_its_name_and_what_is_allowed_is_said() -> None:
    read = texts.pathway(load())
    assert (said(read("fs")), said(read("Frozen Shoulder"))) == ("FS", "FS")
    assert "FS (Frozen shoulder)" in said(read("impingement"))


def test_ages_doses_and_hours() -> None:
    assert [said(texts.age(c)) for c in ("54", 54.0, "50s", "15", "18", "90", "54 y")] == [
        *("50s", "50s", "50s", "under 16", "18-19", "90 or over", "50s")
    ]
    assert "no age" in said(texts.age("1/2/1960"))
    assert [said(texts.dose(c)) for c in ("3/3", "2 of 3", "whole", "none")] == [
        "whole",
        "part",
        "whole",
        "none",
    ]
    assert "of how many" in said(texts.dose("3"))
    assert said(texts.clock(time(9, 30))) == "09:30"
    assert said(texts.hand("R handed")) == "right"


# headings


@pytest.mark.parametrize(
    ("heading", "meaning"),
    [
        ("Patient ID", "case code"),
        ("CODE", "case code"),
        ("L/R", "side"),
        ("Shoulder", "side"),
        ("Affected shoulder", "side"),
        ("PROM ER (°)", "passive external rotation"),
        ("Active flexion [deg]", "active flexion"),
        ("Passive ER, other side", "passive external rotation, other side"),
        ("Passive ER left", "passive external rotation, LEFT"),
        ("HBB", "hand behind back"),
        ("ER strength (kg)", "external rotation strength in kg"),
        ("Worst pain (0-10)", "worst pain"),
        ("Pain during", "pain during exercise"),
        ("next morning", "pain on the next morning"),
        ("Quick DASH", "QuickDASH"),
        ("OSS (0-48)", "OSS"),
        ("OSS 12-60", "OSS, old form 12 to 60"),
        ("Date of surgery", "date of surgery"),
        ("Next review due", "next review on"),
        ("Referred by", "referrer"),
    ],
)
def test_a_heading_proposes_what_it_says(heading: str, meaning: str) -> None:
    found = proposed(heading).meaning
    assert found is not None
    assert found.name == meaning


@pytest.mark.parametrize(
    ("heading", "why"),
    [
        ("Pain", "which pain"),
        ("VAS", "which pain"),
        ("Morning", "that day, or on the morning after"),
        ("ER", "active or passive"),
        ("Review date", "last review or the next"),
        ("Onset", "how did it begin"),
        ("Date of injury", "dislocation, a fracture"),
        ("Worst pain (0-100)", "another scale"),
        ("Pain during (mm)", "another scale"),
        ("ER strength", "kg, in per cent"),
        ("ER strength (N)", "kg, in per cent"),
        ("Comments", "free text"),
        ("Diagnosis", "clinician"),
        ("Favourite colour", ""),
    ],
)
def test_a_heading_in_doubt_proposes_nothing(heading: str, why: str) -> None:
    found = proposed(heading)
    assert found.meaning is None
    assert why in found.why


@pytest.mark.parametrize(
    "heading",
    [
        "Name",
        "Patient name",
        "Surname",
        "DOB",
        "Date of birth",
        "NHS No",
        "Hospital number",
        "E-mail",
        "Phone",
    ],
)
def test_a_column_that_names_people_is_never_taken(heading: str) -> None:
    assert proposed(heading).personal
    assert not proposed("Clinician name").personal


def test_every_meaning_is_found_by_its_name_and_proposed_by_it_or_by_none() -> None:
    for name, meaning in meanings().items():
        assert named(name.upper()) is meaning
        found = proposed(name).meaning
        assert found is None or found.name == name, name


def test_letters_of_columns_and_digits_of_a_spreadsheet() -> None:
    assert [letter(n) for n in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]
    assert str(decimal_of(5.0)) == "5"


def test_the_table_of_forms_says_what_the_readers_do() -> None:
    told = {(what, cell): words for what, cell, words in examples()}
    assert told["pain", "7/10"] == "7"
    assert told["pain", ""].startswith("nothing told")
    assert told["date", "03/04/2026"].startswith("refused")
    assert told["date, day first", "03/04/2026"] == "Fri 3 Apr 2026"
