"""One row of a sheet and what becomes of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from armrise.store.entries.build import build
from armrise.store.entries.words import CaseHead
from armrise.store.exchange.sheets.files.table import Cell, text_of
from armrise.store.record.kinds.head import Entry
from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.rules.pathway import Rules

TAKEN, CHANGED, KNOWN, LEFT, REFUSED = "taken", "changed", "known", "left", "refused"
"""What becomes of a row: taken as it stands, taken and read as something else than stands there, there
already, no row of the list, refused."""


class Wrong(NamedTuple):
    """Why a row is refused: the column (empty for the row as a whole), what stands there, the reason."""

    column: str
    value: str
    why: str


class Changed(NamedTuple):
    """A cell that is read as something else than stands there."""

    column: str
    value: str
    read_as: str


class Part(NamedTuple):
    """An entry that a row asks for, before it has its day: fields by name, and the column it comes from."""

    entry: Entry | None
    column: str
    side: str = ""
    stage: int | str = ""
    clock: bool = False


Said = tuple[Any, str, Cell]
"""What a cell was read as, the column, and what stands there."""


@dataclass(slots=True)
class Row:
    """One row of a sheet, and what becomes of it."""

    sheet: str
    number: int
    code: str = ""
    status: str = TAKEN
    why: str = ""
    """Of a row that is left, or that is there already: why."""
    wrong: list[Wrong] = field(default_factory=list[Wrong])
    changed: list[Changed] = field(default_factory=list[Changed])
    head: dict[str, Said] = field(default_factory=dict[str, Said])
    """What is said of the case: by the field its value, its column and what stands there."""
    parts: list[tuple[date, Part]] = field(default_factory=list[tuple[date, Part]])
    visit: date | None = None
    rater: str | None = None
    written: list[Entry] = field(default_factory=list[Entry])
    """What is written because of it."""
    opens: CaseHead | None = None
    """The new case that is registered because of it."""

    def refuse(self, column: str, value: Cell, why: str) -> None:
        """Keep one reason; each is told once."""
        wrong = Wrong(column, text_of(value), why)
        if wrong not in self.wrong:
            self.wrong.append(wrong)
        self.status = REFUSED


@dataclass(frozen=True)
class Given:
    """Under what rows are read: the rules, the clinic date, and the instant and author of what is written."""

    rules: Rules
    today: date
    now: datetime
    author: str
    made: dict[Any, Entry] = field(default_factory=dict[Any, Entry], compare=False)
    """The entries that were checked already, by what they say: diaries say the same again and again."""


def checked(row: Row, kind: str, raw: dict[str, Any], told: Said, given: Given) -> Entry | None:
    """The entry that ``raw`` says, by the check that every entry passes; None with its faults in the row.

    Its day is put on later, so that what says the same is checked once.
    """
    key = (kind, *raw.items())
    if (made := given.made.get(key)) is not None:
        return made
    stated = {name: value for name, value in raw.items() if value is not None and value != ""}
    stated |= {"on": given.today, "recorded": given.today, "author": given.author}
    entry, faults = build(kind, stated, case=row.code, label="row", base=given.today, rules=given.rules)
    for fault in faults:
        row.refuse(told[1], told[2], fault.message)
    if entry is not None:
        entry = given.made[key] = replace(entry, recorded_at=given.now, recorded_on=given.today)
    return entry
