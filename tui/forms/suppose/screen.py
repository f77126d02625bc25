"""What if: values that are only supposed, and the verdict they would give beside the one there is."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from textwrap import wrap
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widget import Widget

from armrise.store.clinic.actions.suppose import CannotSuppose, difference, suppose
from armrise.store.clinic.case.standing import Standing, Truth, Word
from armrise.store.clinic.case.view import View
from armrise.store.record.case import CaseRecord
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.effect import verdict_words
from armrise.tui.forms.kit.fields import Body, Field
from armrise.tui.forms.kit.kept import Fields
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.suppose.fields import FieldsOf
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import day

NOTHING = "Type a value: the verdict it would give stands here."
NOT_WRITTEN = "Supposed values are never written. Record what is observed with c, m or v."
BESIDES = 8
"""Lines of the screen beside the two verdicts and the fields."""


class SupposeScreen(FormScreen, inherit_bindings=False):
    """Shows two verdicts: the present one and the supposed one. It can write nothing."""

    keeps = False
    DEFAULT_CSS = """
    SupposeScreen #form { max-width: 120; max-height: 40; }
    SupposeScreen #both { height: auto; border-top: solid $panel; }
    SupposeScreen.-plain #both { border-top: ascii $panel; }
    SupposeScreen #now { width: 1fr; height: auto; padding-right: 1; color: $text-muted; }
    SupposeScreen #then { width: 1fr; height: auto; }
    SupposeScreen #fields { height: auto; }
    SupposeScreen Line Input { width: 12; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave, nothing is written", id="suppose.leave"),
        Binding("f2,ctrl+s", "write", "Nothing can be written here", show=False, id="suppose.no_write"),
        Binding("f3", "empty", "Empty all fields", id="suppose.empty"),
        Binding("down", "app.focus_next", "Next field", show=False, id="suppose.next"),
        Binding("up", "app.focus_previous", "Field before", show=False, id="suppose.before"),
        Binding("pagedown", "page(1)", "Page on", show=False, id="suppose.page_on"),
        Binding("pageup", "page(-1)", "Page back", show=False, id="suppose.page_back"),
    ]
    heading = "SUPPOSED"
    keys = "F3 empty all   Esc leave, nothing is written   F8 blank"

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self.filled = False

    def lead(self) -> str:
        """That nothing here is a record."""
        return "Only supposed: nothing is written. Fields the verdict asks for come first."

    def compose(self) -> ComposeResult:
        """Head, fields, both verdicts, what went wrong, keys; there is no row that writes."""
        with Vertical(id="form"):
            yield Static(self.head(), id="form-head", markup=False)
            yield Static(self.lead(), id="form-lead", markup=False)
            with Body(id="form-body", can_focus=False):
                yield from self.rows()
            with Horizontal(id="both"):
                yield Static("", id="now", markup=False)
                yield Static("", id="then", markup=False)
            yield Static("", id="form-says", markup=False)
            yield Static("", id="form-hints", markup=False)

    def rows(self) -> Iterable[Widget]:
        """The fields follow when the case has been read."""
        yield Vertical(id="fields")

    def begin_keeping(self, before: Fields | None = None) -> None:
        """Nothing supposed is kept."""

    def arrived(self, record: CaseRecord) -> None:
        """The fields that this case is asked for."""
        rules = self.door.rules
        self.asking = FieldsOf(record, rules, View.of(record, rules, self.door.today))
        self.run_worker(self.fill())

    async def fill(self) -> None:
        """Put the fields in their place; only then is anything read from them."""
        box = self.query_one("#fields", Vertical)
        await box.remove_children()
        await box.mount_all(self.asking.widgets)
        self.filled = True
        self.asking.widgets[0].focus()
        self.show_plan()

    def show_plan(self) -> None:
        """Both verdicts, side by side."""
        if self.record is None or not self.filled:
            return
        now = self.column(f"NOW, {day(self.door.today)}", self.standing)
        self.query_one("#now", Static).update(now)
        self.query_one("#then", Static).update(self.supposed())

    def supposed(self) -> Content:
        """The supposed verdict, or why there is none."""
        assert self.record is not None
        typed, faults = self.asking.read()
        self.mark_quietly(faults)
        if typed is None:
            return Content.assemble(("SUPPOSED\n", "bold"), NOTHING)
        try:
            then = suppose(self.record, self.door.rules, self.door.today, typed, rater=self.door.author)
        except CannotSuppose as error:
            return Content.assemble(("SUPPOSED\n", "bold"), f"no verdict: {error}")
        return self.column(f"SUPPOSED, {day(self.on(typed.days_ahead))}", then, self.differs(then))

    def on(self, ahead: int) -> date:
        """The day that is looked at."""
        return self.door.today + timedelta(days=ahead)

    def mark_quietly(self, faults: dict[str, str]) -> None:
        """Put each fault at its line without moving the focus; a line put right is marked no more."""
        for row in self.query(Line):
            if row.fault != faults.get(str(row.id), ""):
                row.fault = faults.get(str(row.id), "")

    def differs(self, then: Standing) -> list[str]:
        """Reasons that come and go."""
        found = difference(self.standing, then)
        lines = [f"new: {', '.join(r.name for r in found.gained)}"] if found.gained else []
        lines += [f"gone: {', '.join(r.name for r in found.lost)}"] if found.lost else []
        return lines or (["the same as now"] if found.nothing else ["reasons stay as they are"])

    def column(self, title: str, standing: Standing, after: Iterable[str] = ()) -> Content:
        """A verdict with its first lines that are not met or unknown, folded to half the screen."""
        width, room = self.half()
        ending = [line for told in after for line in wrap(told, width)]
        first = wrap(shortly(standing), width)[:3]
        rest = [line for told in unmet(standing) for line in wrap(told, width, subsequent_indent="  ")]
        left = max(0, room - 1 - len(first) - len(ending))
        if len(rest) > left:
            rest = [*rest[: max(0, left - 1)], "  ..."][:left]
        return Content.assemble(
            (f"{title}\n", "bold"),
            ("\n".join(first) + "\n", "bold"),
            "\n".join([*rest, *ending]),
        )

    def half(self) -> tuple[int, int]:
        """Width and lines of one of the two verdicts."""
        width, height = min(self.app.size.width, 120), min(self.app.size.height, 40)
        return max(20, (width - 6) // 2), max(6, (height - BESIDES) * 6 // 10)

    def on_resize(self) -> None:
        """Fold to the new room."""
        self.show_plan()

    def action_empty(self) -> None:
        """Nothing is supposed any more."""
        for row in self.query(Field):
            row.forget()
        for row in self.query(Line):
            row.input.value = ""

    def action_write(self) -> None:
        """There is nothing to write."""
        self.say(NOT_WRITTEN)


def shortly(standing: Standing) -> str:
    """The verdict; with its line where the lines under it do not say the same."""
    word = standing.verdict.word
    listed = word in (Word.NOT_YET, Word.UNKNOWN) and unmet(standing)
    return word.value if listed else verdict_words(standing)


def unmet(standing: Standing) -> list[str]:
    """Blocks and criteria that are not met, then those that are unknown, each with what was observed."""
    everything = (*standing.verdict.blocks, *standing.verdict.criteria)
    return [
        f"{result.state.value}: {result.text} ({result.observed})"
        for wanted in (Truth.NOT_MET, Truth.UNKNOWN)
        for result in everything
        if result.state is wanted
    ]
