"""Messy spreadsheets with a known truth: made, made uglier, and judged by what was taken of them.

What counts as a guess is judged without the readers of the program: a number that was taken has the digits
that stand in its cell and nothing beside them but what the table of forms allows; a date is the one the cell
names; a case is the one of its code. Everything else has to be refused.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any, NamedTuple

from armrise.store.exchange.sheets.files.table import SheetRefused
from armrise.store.exchange.sheets.mapping import Map
from armrise.store.exchange.sheets.plan import parse, understood
from armrise.store.exchange.sheets.row import LEFT, REFUSED, Given, Row
from armrise.store.exchange.sheets.rows import Sheet, read_rows
from armrise.store.record.fields import Absence
from armrise.store.rules.pathway import Rules

TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
ENCODINGS = ("utf-8", "utf-8-sig", "cp1252", "utf-16")
DELIMITERS = ",;\t|"


class Layout(NamedTuple):
    """One way in which clinics keep a list: its headings and what each column holds."""

    name: str
    headings: tuple[str, ...]
    kinds: tuple[str, ...]


LAYOUTS = (
    Layout(
        "patients",
        ("Code", "Side", "Pathway", "Registered", "Date of surgery", "Age", "Worst pain", "Visit date"),
        ("code", "side", "pathway", "date", "date", "age", "pain", "date"),
    ),
    Layout(
        "visits",
        (
            "Patient ID",
            "Date",
            "Worst pain (0-10)",
            "PROM ER (°)",
            "AROM flexion",
            "ER strength (kg)",
            "SPADI",
            "HBB",
        ),
        ("code", "date", "pain", "degrees", "degrees", "kg", "score", "level"),
    ),
    Layout(
        "diary",
        ("case code", "Date", "During", "Later", "Next morning", "Times a day"),
        ("code", "date", "pain", "pain", "pain", "times"),
    ),
)
"""The layouts; a home diary is the third."""
LEVELS = ("T7", "T12", "L3", "buttock", "sacrum")
UGLY = (
    *(
        "6-7",
        "7/10",
        "11",
        "n/a",
        "N/A",
        "declined",
        "-",
        "?",
        "",
        " ",
        "about 5",
        ">4",
        "5+",
        "~3",
        "3,5",
        "1,234",
    ),
    *(
        "110°",
        "110 deg",
        "90-110",
        "TRUE",
        "#REF!",
        "#N/A",
        "=A1",
        "nil",
        "none",
        "4/5",
        "45%",
        "0.45",
        "1e3",
        "½",
    ),
    *(
        "03/04/2026",
        "13/02/2026",
        "02/13/2026",
        "3.2.26",
        "46085",
        "2026-02-30",
        "4 Feb 2026",
        "Feb",
        "T7",
        "L 3",
    ),
    *(
        "L",
        "R",
        "both",
        "left shoulder",
        "FS",
        "fs",
        "XX",
        "S-001",
        "s-001",
        "S-0011",
        "Smith",
        "٣",
        "７",
        "\u200b5",
    ),
    *(
        "5\u00a0",
        "−5",
        "'5",
        "5.",
        "5..0",
        "+5",
        "(5)",
        "5 kg",
        "5 lb",
        "whole",
        "x" * 400,
        "\x00",
        "\x1b[2J",
        "a\nb",
    ),
)
"""What stands in cells of the real world, and what nobody would believe."""


def truth(rng: random.Random, kind: str) -> tuple[str, Any]:
    """A cell as it should be written, and what it says."""
    if kind == "code":
        code = f"S-{rng.randint(1, 6):03}"
        return rng.choice([code, code.lower()]), code
    if kind == "date":
        day = TODAY - timedelta(days=rng.randint(1, 50))
        return rng.choice([day.isoformat(), f"{day:%d/%m/%Y}", f"{day.day} {day:%b} {day.year}"]), day
    if kind == "side":
        side = rng.choice(["LEFT", "RIGHT"])
        return rng.choice([side, side.lower(), side[0]]), side
    if kind == "pathway":
        return (code := rng.choice(["PO", "FS", "RC"])), code
    if kind == "age":
        years = rng.randint(20, 89)
        return str(years), f"{years // 10}0s"
    if kind == "level":
        return (level := rng.choice(LEVELS)), level
    low, high = {"pain": (0, 10), "degrees": (0, 100), "kg": (0, 20), "score": (2, 100), "times": (1, 6)}[
        kind
    ]
    value = rng.randint(low, high)
    written = {"pain": f"{value}/10", "degrees": f"{value}°", "kg": f"{value} kg"}.get(kind, str(value))
    return rng.choice([str(value), written]), Decimal(value)


class Messy(NamedTuple):
    """A file and how it was put together."""

    layout: Layout
    cells: list[list[str]]
    content: bytes


def messy(rng: random.Random, layout: Layout, rows: int = 6) -> Messy:
    """A file of this layout, and what was done to it in at most four places."""
    cells = [[truth(rng, kind)[0] for kind in layout.kinds] for _ in range(rows)]
    for _ in range(rng.randint(1, 4)):
        row, column = rng.randrange(rows), rng.randrange(len(layout.kinds))
        cells[row][column] = mutated(rng, cells[row][column])
    lines = [list(layout.headings), *cells]
    for _ in range(rng.randint(0, 2)):
        _uglier(rng, lines)
    sign = rng.choice(DELIMITERS)
    text = "\r\n".join(sign.join(quoted(cell, sign, rng) for cell in line) for line in lines)
    if rng.random() < 0.15:
        at = rng.randrange(len(text))
        text = text[:at] + rng.choice(['"', sign, "\n", "", "\x00", "ß"]) + text[at + rng.randint(0, 1) :]
    return Messy(layout, cells, text.encode(rng.choice(ENCODINGS), "replace"))


def mutated(rng: random.Random, cell: str) -> str:
    """Another cell in its place: one of the real world, or the same with a sign more, less, or another."""
    if rng.random() < 0.5 or not cell:
        return rng.choice(UGLY)
    at = rng.randrange(len(cell))
    more = rng.choice("0123456789/-.,° ?<>~abLR%+:;\u2009")
    return rng.choice(
        [cell[:at] + more + cell[at:], cell[:at] + cell[at + 1 :], cell[:at] + more + cell[at + 1 :]]
    )


def _uglier(rng: random.Random, lines: list[list[str]]) -> None:
    """A title, an empty line, the headings again, a total, a column of names, one that is there already."""
    at, wide = rng.randint(1, len(lines)), len(lines[0])
    how = rng.randrange(6)
    if how == 0:
        lines.insert(0, ["Shoulder clinic", *[""] * (wide - 1)])
    elif how == 1:
        lines.insert(at, [""] * wide)
    elif how == 2:
        lines.insert(at, list(lines[0]))
    elif how == 3:
        lines.append(["Total", *["3"] * (wide - 1)])
    elif how == 4:
        for number, line in enumerate(lines):
            line.append("Surname" if number == 0 else "Doe")
    else:
        for number, line in enumerate(lines):
            line.append("Worst pain" if number == 0 else "9")


def quoted(cell: str, sign: str, rng: random.Random) -> str:
    """The cell as a CSV file holds it; now and then quoted without need."""
    if any(one in cell for one in (sign, '"', "\n", "\r")) or rng.random() < 0.05:
        return '"' + cell.replace('"', '""') + '"'
    return cell


# judged


def judged(content: bytes, rules: Rules) -> list[str]:
    """What was guessed in a file, each in a few words. Whatever is raised but a refusal is a fault too."""
    try:
        about = understood(parse(content, "messy.csv"), Map(), Map())
    except SheetRefused:
        return []
    given = Given(rules, TODAY, NOW, "TK")
    return [
        guess
        for sheet in about.sheets
        if not about.faults
        for row in read_rows(sheet, given)
        if row.status not in (REFUSED, LEFT)
        for guess in guesses(sheet, row)
    ]


def guesses(sheet: Sheet, row: Row) -> Iterator[str]:
    """What was taken of a row and does not stand there."""
    table = sheet.table
    at = table.numbers.index(row.number) if table.numbers else row.number - 1
    line = [str(cell) for cell in table.rows[at]]
    line += [""] * (len(sheet.columns) - len(line))
    held = {
        column.meaning.name: line[column.index] for column in sheet.columns if column.used and column.meaning
    }
    firsts = {
        column.meaning.name: sheet.orders[column.index].first
        for column in sheet.columns
        if column.index in sheet.orders and column.meaning
    }
    cell = held.get("case code", "")
    if row.code.casefold() != plain(cell).casefold():
        yield f"code {row.code} of {cell!r}"
    for name, (value, _, _) in row.head.items():
        cell = held[{"registered_on": "registered on", "age_band": "age or age band"}.get(name, name)]
        if not _is_head(name, value, cell, firsts.get("registered on", "")):
            yield f"{name} {value} of {cell!r}"
    for on, part in row.parts:
        entry: Any = part.entry
        yield from _of_entry(entry, on, held, firsts)


def _of_entry(entry: Any, on: date, held: dict[str, str], firsts: dict[str, str]) -> Iterator[str]:
    after = (
        timedelta(days=1) if entry.KIND == "morning" and "pain on the next morning" in held else timedelta()
    )
    name = {"visit": "visit on", "onset": "date of surgery"}.get(
        entry.KIND, "date" if "date" in held else "visit on"
    )
    if not is_date(on - after, held[name], firsts.get(name, "")):
        yield f"{entry.KIND} on {on} of {held[name]!r}"
    values: dict[str, Any] = {}
    if entry.KIND == "measure":
        unit = f" in {entry.unit}" if entry.unit else ""
        values[f"{entry.name.replace('_', ' ')}{unit}"] = entry.value
    elif entry.KIND == "score":
        values[entry.instrument] = entry.total
    elif entry.KIND == "session":
        values["pain during exercise"], values["pain later that day"] = entry.during, entry.later
        values["pain on the next morning"], values["times that day"] = entry.morning, entry.times
    elif entry.KIND == "morning":
        values["pain on the next morning"] = entry.pain
    for meaning, value in values.items():
        cell = held.get(meaning, "")
        if not is_value(value, cell):
            yield f"{meaning} {value} of {cell!r}"


BEHIND = r"(?:°|º|deg|kg|%| ?/ ?10| ?/ ?100| ?of 10|x|times)?"
LEVEL_NUMBERS = {"t7": 13, "t12": 8, "l3": 5, "buttock": 1, "sacrum": 2}


def plain(cell: str) -> str:
    """A cell without blanks at its ends, without unseen signs."""
    return re.sub(r"[\s\u00a0\u2009]+", " ", cell.replace("\u200b", "").replace("\ufeff", "")).strip()


def is_value(value: Any, cell: str) -> bool:
    """Whether a number, an absence or nothing is what the cell says, by digits alone."""
    text = plain(cell).casefold().replace("−", "-")
    nothing = text in ("", "-", "?", ".", "–", "n/a", "na", "not asked")
    if value is None or (value is Absence.NOT_ASKED and nothing):
        return nothing
    if isinstance(value, Absence):
        return text in ("n/a", "na", "declined", "not measured", "prohibited")
    for level, number in LEVEL_NUMBERS.items():
        if text.replace(" ", "") == level:
            return value == number
    if re.fullmatch(r"[lt] ?\d{1,2}", text):  # a level that a changed letter made
        return True
    found = re.fullmatch(rf"\+?(-?\d+(?:[.,]\d{{1,2}})?)\s*{BEHIND}", text, re.ASCII)
    return found is not None and Decimal(found[1].replace(",", ".")) == Decimal(value)


def is_date(day: date, cell: str, first: str) -> bool:
    """Whether the cell names this day; of 03/04/2026 only where something in the column settles it."""
    text = plain(cell)
    forms = {
        day.isoformat(),
        f"{day:%Y%m%d}",
        f"{day.year}-{day.month}-{day.day}",
        f"{day.day} {day:%b} {day.year}",
    }
    forms |= {f"{day.year}/{day.month}/{day.day}", f"{day:%Y/%m/%d}", f"{day:%d} {day:%b} {day.year}"}
    numbers = [int(one) for one in re.findall(r"\d+", text)][:3]
    if text in forms or re.sub(r"[ .,/-]", "", text) in {re.sub(r"[ .,/-]", "", form) for form in forms}:
        return True
    if len(numbers) == 3 and numbers[0] == day.year:
        return numbers[1:] == [day.month, day.day]
    if len(numbers) == 3 and numbers[2] == day.year:
        by_day = numbers[:2] == [day.day, day.month]
        by_month = numbers[:2] == [day.month, day.day]
        clear = max(numbers[:2]) > 12 or numbers[0] == numbers[1]
        return (by_day and (clear or first == "day first")) or (
            by_month and (clear or first == "month first")
        )
    return False


def _is_head(name: str, value: Any, cell: str, first: str) -> bool:
    text = plain(cell).casefold()
    if name == "side":
        return text.startswith(value[0].casefold()) and text not in ("both", "l/r")
    if name == "pathway":
        return text == value.casefold()
    if name == "age_band":
        years = re.fullmatch(r"\+?(\d{1,3})(?: ?(?:y|yrs|years))?|(\d0)s", text)
        return (
            (years is not None and value.startswith((years[1] or years[2])[:1]))
            or "under" in value
            or "1" in value[:1]
        )
    return name != "registered_on" or is_date(value, cell, first)
