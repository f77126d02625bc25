"""The weeks since the last visit in one line, where no diary is kept: read back in words as it is typed."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from textual.app import ComposeResult

from armrise.store.clinic.actions.summing_up import asked_proposed, period_asked
from armrise.store.clinic.case.view import View
from armrise.store.entries.summaries import wrong
from armrise.store.entries.summary_line import EXAMPLE, LineError, read_line
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.pain import PeriodSummary
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.line import JudgedLine
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import day


class WeeksLine(JudgedLine):
    """The line, and under it what was understood."""

    DEFAULT_CSS = """
    WeeksLine .weeks-read { height: auto; display: none; padding: 0 0 0 4; }
    """
    hint = (
        f"{EXAMPLE}   9 of 14 days, worst during 4, later 3, 2 mornings worse\n"
        "by 2 or more; dose w whole, p part, m more; s settled, n not; . not told"
    )

    def __init__(self) -> None:
        super().__init__("weeks as told", longest=40, key="weeks")
        self.display = False

    def compose(self) -> ComposeResult:
        """The line, then its reading."""
        yield from super().compose()
        yield Static("", classes="weeks-read", markup=False)

    def say_back(self, words: str) -> None:
        """What was understood; empty takes no room."""
        read = self.query_one(".weeks-read", Static)
        read.update(words)
        read.display = bool(words)

    def on_resize(self) -> None:
        """The reading has grown: on the last row in sight it would stand below the edge."""
        if self.has_focus_within:
            self.scroll_visible(animate=False)


class AsksWeeks(FormScreen):
    """A form with the row ``weeks``, asked where the weeks are not known from a diary (ruling 73)."""

    def fit_weeks(self, view: View, *, asked: bool = True) -> None:
        """Show the row where it is asked on the date of ``view``, and read back what stands in it."""
        row, since = self.query_one(WeeksLine), period_asked(view)
        row.display = asked and since is not None
        if since is not None:
            row.relabel(f"weeks since {day(since, year=False)}")
            row.say_beside(f"9 alone is 9 of {asked_proposed(view, since)} days asked")
        plan = self.weeks(view)
        row.refusal = plan.faults.get("weeks", "")
        told = [self.summary(values).values() for _, values in plan.drafts]
        not_yet = f"not yet: {row.refusal}" if row.refusal and not row.fault else ""
        row.say_back(not_yet or "".join(told))

    def weeks(self, view: View) -> Plan:
        """The summary that the line says, or why it cannot be; nothing where nothing is typed or asked."""
        row, since = self.query_one(WeeksLine), period_asked(view)
        if not row.display or not row.value or since is None:
            return Plan()
        try:
            told = read_line(row.value, asked_proposed(view, since))
        except LineError as error:
            return Plan(faults={"weeks": f"{row.label}: {error}."})
        values = {"on": view.today, "since": since, "source": REPORTED, **asdict(told)}
        for name, say in wrong(self.summary(values), self.door.rules):
            return Plan(faults={"weeks": f"{row.label}: {name} {say}.".replace("_", " ")})
        return Plan([(PeriodSummary.KIND, values)])

    def summary(self, values: dict[str, Any]) -> PeriodSummary:
        """The entry that would be written."""
        entry = self.door.draft(PeriodSummary.KIND, **values)
        assert isinstance(entry, PeriodSummary)
        return entry
