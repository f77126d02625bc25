"""What was typed in a form of several blocks, by the ids of its fields. A field left empty says nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date

from armrise.store.clinic.scores.activities import own_activities
from armrise.store.record.fields import Absence
from armrise.store.record.light import dataclass
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.measures.range_line import RangeLine
from armrise.tui.forms.measures.range_line_parse import Line as RangeTyped
from armrise.tui.forms.paged.form import PagedForm
from armrise.tui.forms.paged.read import read_when
from armrise.tui.forms.red_flags.rows import FlagRow


@dataclass(frozen=True, slots=True)
class Given:
    """What stands in the fields, by their ids, and what it is about."""

    text: Mapping[str, str]
    today: date
    rules: Rules
    author: str
    other_side: str = ""
    lines: Mapping[str, RangeTyped] = field(default_factory=dict[str, RangeTyped])
    flags: tuple[Draft, ...] = ()
    """Answers of the red-flag list."""
    activities: tuple[str, ...] = ()
    """The names known of the patient's own activities, by their places."""

    def __getitem__(self, key: str) -> str:
        return self.text.get(key, "").strip()

    def number(self, key: str) -> int | Absence:
        """A rating by one key."""
        value = self[key]
        if not value.isdecimal():
            return Absence.DECLINED if value == "d" else Absence.NOT_ASKED
        return int(value)

    def when(self, key: str, label: str, *, ahead: bool = False) -> tuple[date | None, str]:
        """A date that was typed, and what is wrong with it."""
        return read_when(self[key], self.today, ahead=ahead, label=label)


def given_in(form: PagedForm, other_side: str) -> Given:
    """Every field in its words, the range lines as they were understood, the answers of the list."""
    rows = form.named().items()
    return Given(
        {key: row.value for key, row in rows if row.display and row.is_mounted},
        form.door.today,
        form.door.rules,
        form.door.author,
        other_side,
        {key: row.typed for key, row in rows if isinstance(row, RangeLine)},
        tuple(d for _, row in rows if isinstance(row, FlagRow) and row.display and (d := row.draft())),
        own_activities(record.scores) if (record := form.case_now()) else (),
    )
