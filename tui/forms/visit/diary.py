"""The diary strip: many days of a written diary typed in one line, listed by date before they are written."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from textual.widget import Widget

from armrise.store.clinic.actions.strip import Typed, day_lines, to_write, understood
from armrise.store.clinic.actions.suppose import difference
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.entries.strip import Strip, from_date
from armrise.store.entries.values import RefusalError
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.words import listed
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.effect import STAYS, standing_with
from armrise.tui.forms.kit.line import JudgedLine
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import ago, day

HOW = """\
  -7:      from 7 days ago on; or Mon: or 2026-02-23:   then / between days
  221      pain during 2, later 2, on waking the day after 1
  2.t      . is not told, t is 10; or with blanks, 2 . 10
  221*2!   done twice that day; ! only part of the dose
  -2       rest day, 2 on waking the day after; - alone says nothing of it
  ?        day not told
  ; whole  at the end: the whole dose on each day; or ; part"""
LONGEST = 600
"""Characters of a line: the most days with the most said of each."""


class DiaryLine(JudgedLine):
    """The line; what is kept of it begins with a date, because "-7" is another day tomorrow."""

    DEFAULT_CSS = """
    DiaryLine .line-label { width: 8; }
    """
    hint = "as -7: 221/231*2/-2/?/322; whole   Enter goes on"

    def __init__(self, today: date) -> None:
        super().__init__("days", longest=LONGEST, key="line")
        self.today = today

    def kept_text(self) -> str:
        """The line from its date on."""
        return from_date(super().kept_text(), self.today)


class DiaryScreen(FormScreen):
    """Records the days of a written diary from one line; all of them are written, or none."""

    READING = (
        "Many days of a written diary in one line. What was understood stands below it, a day a line.",
        "Each session is written with the exercises of the programme in force on its day.",
        "A day that is on record with the same values is skipped; one with other values refuses the line.",
        *FormScreen.READING,
    )
    heading = "Diary"
    write_label = "Write the diary"
    keys = "F2 write   PgDn PgUp days   Esc leave, nothing written   F8 blank"

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self.view: View | None = None

    def lead(self) -> str:
        """Up to when sessions are on record: the diary goes on from there."""
        if self.view is None:
            return ""
        sessions = self.view.upto("sessions")
        if not sessions:
            return "No session is on record."
        last = sessions[-1].on
        return f"On record up to the session of {day(last, year=False)}, {ago(last, self.door.today)}."

    def rows(self) -> Iterable[Widget]:
        """How a line is typed, the line, and the days as they were understood."""
        yield Static(HOW, id="how", markup=False)
        yield DiaryLine(self.door.today)
        yield Static("", id="days", markup=False)

    def on_mount(self) -> None:
        """Start at the line."""
        super().on_mount()
        self.query_one(DiaryLine).focus()

    def arrived(self, record: CaseRecord) -> None:
        """The case has been read: a line typed meanwhile can be understood."""
        self.view = View.of(record, self.door.rules, self.door.today)
        self.typing()

    def typing(self) -> None:
        """List the days as they are understood by now: of a cell half typed, those before it."""
        line = self.query_one(DiaryLine)
        found = self.read_days(line.value)
        line.refusal = found if isinstance(found, str) else ""
        if isinstance(found, str):
            found = self.read_days(line.value.rpartition("/")[0])
        lines = day_lines(found[1], found[0].dose, self.door.today) if isinstance(found, tuple) else []
        self.query_one("#how").display = not lines
        self.query_one("#days", Static).update("\n".join(f"  {line}" for line in lines))

    def read_days(self, line: str) -> tuple[Strip, list[Typed]] | str:
        """What a line says, or the sentence why it is not taken; empty where there is nothing to read yet."""
        if self.view is None or not line:
            return ""
        try:
            return understood(line, self.view)
        except RefusalError as refused:
            return f"{refused}."

    def plan(self) -> Plan:
        """The entries of every day, or the one sentence why the line is not taken."""
        if self.view is None:
            return Plan(nothing="Reading the case ...")
        line = self.query_one(DiaryLine)
        found = self.read_days(line.value)
        if not found:
            return Plan()
        if isinstance(found, str):
            return Plan(faults={"line": found}, nothing="" if line.fault else f"Not yet: {found}")
        strip, days = found
        told = to_write(days, strip, self.door.today)
        drafts = [d.entry for d in days if d.entry]
        return Plan(drafts, told, nothing=f"Nothing to write: {'; '.join(told) or 'no day tells a value'}.")

    def to_confirm(self, plan: Plan) -> list[str]:
        """All in all, since each day stands above; then in short what would follow."""
        if not plan.drafts or self.record is None:
            return []
        entries = self.entries(plan.drafts)
        after = standing_with(self.record, self.door.rules, self.standing, entries)
        found = difference(self.standing, after)
        verdict = after.verdict.word.value if after.verdict.word != self.standing.verdict.word else ""
        new, gone = (", ".join(r.name for r in reasons) for reasons in (found.gained, found.lost))
        then = listed(verdict, f"new: {new}" if new else "", f"gone: {gone}" if gone else "")
        return [*plan.then, f"then {then}" if then else STAYS]

    def write_now(self, entries: list[Entry]) -> str:
        """All of it in one transaction; said in short, each day stood above."""
        super().write_now(entries)
        first, last = (day(edge.on, year=False) for edge in (entries[0], entries[-1]))
        return f"{self.standing.code}: diary of {first} to {last} written, {len(entries)} entries."
