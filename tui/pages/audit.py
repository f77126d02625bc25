"""The audit page: a period counted, the clinic or one pathway, its curves, and the page as a file."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widget import Widget

from armrise.tui.charts.screen import NO_CHARTS, AboveRows, TableText
from armrise.tui.pages.audit_page import stage_page
from armrise.tui.pages.audit_reader import CURVES, AuditReader
from armrise.tui.pages.audit_words import counts, group_name
from armrise.tui.shell.say import opened_door, say
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.painted import Painted, ascii_terminal, plain_scroll_bar, pushed_apart
from armrise.tui.widgets.pieces import Account, Piece
from armrise.tui.widgets.rows import Span
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.audit.period import Audit, Group
    from armrise.store.clinic.audit.stages import StageTime
    from armrise.tui.charts.page import Page
    from armrise.tui.shell.frame import Board
    from armrise.tui.shell.store_door import StoreDoor

COUNTS = 1
NAMES = {COUNTS: "counts", CURVES: "time in stage"}
DAY = timedelta(days=1)
EDGES = 3
"""Cells that the margins and the scroll bar take."""


class AuditScreen(AuditReader):
    """Counts first; the arrows step through the months, p through the pathways."""

    READING: ClassVar[tuple[str, ...]] = (
        "Counts of a period from what is recorded; every share stands beside its denominator.",
        "It counts cases and never compares clinicians. What was not recorded is counted as not recorded.",
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "to the list", id="audit.leave"),
        Binding("left,h", "month(-1)", "month before", id="audit.month_before"),
        Binding("right,l", "month(1)", "month after", id="audit.month_after"),
        Binding("p", "group(1)", "next pathway", id="audit.next_pathway"),
        Binding("P", "group(-1)", "pathway before", show=False, id="audit.pathway_before"),
        Binding("1", "page(1)", "counts", show=False, id="audit.counts"),
        Binding("2", "page(2)", "time in stage", show=False, id="audit.curves"),
        Binding("n", "stage(1)", "next stage", id="audit.next_stage"),
        Binding("N", "stage(-1)", "stage before", show=False, id="audit.stage_before"),
        Binding("T", "table", "table or chart", id="audit.table"),
        Binding("e", "export", "write as a page", id="audit.export"),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="audit.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="audit.up"),
        Binding("pagedown,space", "scroll_page(1)", "page down", show=False, id="audit.page_down"),
        Binding("pageup", "scroll_page(-1)", "page up", show=False, id="audit.page_up"),
    ]
    DEFAULT_CSS = """
    AuditScreen #audit-head { height: 3; background: $surface; }
    AuditScreen #audit-text, AuditScreen #audit-legend, AuditScreen #audit-notes { height: auto; width: 100%;
        padding: 0 1; }
    AuditScreen #audit { height: 1fr; padding: 1 0 0 0; scrollbar-size-vertical: 1; }
    AuditScreen #audit-legend { padding: 1 1 0 1; }
    AuditScreen #above { height: 1; }
    """

    def __init__(self, board: Board, door: StoreDoor) -> None:
        super().__init__(door)
        from armrise.store.clinic.audit.period import last_full_month

        self.board = board
        self.first, self.last = last_full_month(door.today)
        self.code = ""
        self.number = COUNTS
        self.at = 0
        self.as_table = self.no_charts

    def compose(self) -> ComposeResult:
        """Head, counts or curve, keys."""
        yield Painted(id="audit-head")
        yield Account(id="audit-legend")
        with Vertical(id="chart"):
            yield AboveRows(id="above")
        with VerticalScroll(id="table", can_focus=False):
            yield TableText(id="table-text")
        with VerticalScroll(id="audit", can_focus=False):
            yield Account(id="audit-text")
        yield Account(id="audit-notes")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Count beside the painting."""
        for name in ("#audit", "#table"):
            plain_scroll_bar(self.query_one(name))
        self.update()

    def on_resize(self) -> None:
        """What fits in columns depends on the width."""
        if self.made is not None:
            self.show()

    # counting

    def update(self) -> None:
        """Count the period anew."""
        self.made = None
        self._arrange(drawn=False, table=False)
        self._say_head()
        self.query_one("#audit-text", Account).tell([Piece("Counting ...", "muted")])
        self.count(self.first, self.last)

    def take(self, made: Audit) -> None:
        """Show what was counted, if it is still what was asked for."""
        if self.is_attached and (made.period.first, made.period.last) == (self.first, self.last):
            self.made = made
            self.show()

    # showing

    @property
    def group(self) -> Group | None:
        """The group shown: the one chosen, or the clinic where the period has none of it."""
        if self.made is None:
            return None
        return next((g for g in self.made.groups if g.code == self.code), self.made.clinic)

    @property
    def stage(self) -> StageTime | None:
        """The stage whose curve is shown."""
        stages = self.group.stages if self.group else ()
        return stages[self.at % len(stages)] if stages else None

    def show(self) -> None:
        """The counts, or the curve of a stage."""
        group = self.group
        if self.made is None or group is None:
            return
        self._say_head()
        self.refresh_bindings()
        self.query_one(KeyBar).refresh()
        if self.number == CURVES:
            self._show_curve(group)
            return
        self._arrange(drawn=False, table=False)
        width = max(40, self.size.width - EDGES)
        self.query_one("#audit-text", Account).tell(counts(self.made, group, width))

    def _show_curve(self, group: Group) -> None:
        stage = self.stage
        if stage is None:
            self._arrange(drawn=False, table=False)
            self.query_one("#audit-text", Account).tell([Piece("No stay in any stage is recorded yet.")])
            return
        assert self.made is not None
        place = f"{self.at % len(group.stages) + 1} of {len(group.stages)}"
        page = stage_page(stage, place, self.made.percent_least)
        table = self.as_table
        self._arrange(drawn=not table, table=table)
        said = NO_CHARTS if self.no_charts else "" if table else page.legend
        legend = [Piece(page.title, "strong"), *([Piece(said)] if said else [])]
        if table and not page.rows:
            legend.append(Piece("Nobody has moved on from this stage yet."))
        self.query_one("#audit-legend", Account).tell(legend)
        self.query_one("#audit-notes", Account).tell([Piece(note) for note in page.notes])
        text = self.query_one("#table-text", TableText)
        text.page = page
        text.refresh(layout=True)
        if not table:
            self._draw(page)

    def _arrange(self, *, drawn: bool, table: bool) -> None:
        """Which parts are seen."""
        self.query_one("#chart").display = drawn
        self.query_one("#table").display = table
        self.query_one("#audit").display = not (drawn or table)
        for name in ("#audit-legend", "#audit-notes"):
            self.query_one(name).display = drawn or table

    def _draw(self, page: Page) -> None:
        from armrise.tui.charts.plot import Plot

        above = self.query_one("#above", AboveRows)
        above.page = page
        above.refresh()
        plots = list(self.query(Plot))
        if plots:
            plots[0].draw(page)
        else:
            plot = Plot()
            plot.page = page
            self.query_one("#chart").mount(plot)

    def _say_head(self) -> None:
        today = self.door.today
        so_far = ", so far" if self.last == today else ""
        period = f" Audit {words.day(self.first, today)} to {words.day(self.last, today)}{so_far} "
        tabs = [
            Span(
                f"[{n} {name}]" if n == self.number else f" {n} {name} ", "strong" if n == self.number else ""
            )
            for n, name in NAMES.items()
        ]
        group = self.group
        which = "Counting ..." if group is None else group_name(group)
        if group and self.made:
            which += f" ({self.made.groups.index(group) + 1} of {len(self.made.groups)})"
        fictional = [Span(f"{words.FICTIONAL} ", "strong")] if self.door.fictional else []
        width = self.size.width or 80
        lines = [
            pushed_apart([Span(period, "strong")], fictional, width),
            [Span(f" {which}")],
            pushed_apart([Span(" "), *tabs], [Span(f"{self.board.signed} ", "strong")], width),
        ]
        plain = words.cleaner(ascii_only=ascii_terminal())
        self.query_one("#audit-head", Painted).show([[Span(plain(t), s) for t, s in line] for line in lines])

    # keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Stages and tables belong to the curves."""
        return self.number == CURVES if action in ("stage", "table") else True

    def action_month(self, by: int) -> None:
        """The month before or after; the present one as far as it has come."""
        from armrise.store.clinic.audit.period import month

        today = self.door.today
        day = self.first - DAY if by < 0 else month(self.first, date.max)[1] + DAY
        if day > today:
            say(self, f"{words.day(today, today)} is the clinic date: nothing after it can be counted.")
            return
        self.first, self.last = month(day, today)
        self.update()

    def action_group(self, by: int) -> None:
        """The next pathway, the whole clinic after the last."""
        if self.made is not None and self.group is not None:
            groups = self.made.groups
            self.code = groups[(groups.index(self.group) + by) % len(groups)].code
            self.at = 0
            self.query_one("#audit").scroll_home(animate=False)
            self.show()

    def action_page(self, number: int) -> None:
        """Counts or curves."""
        self.number = number
        if self.made is not None:
            self.load_charts()
            self.show()

    def action_stage(self, by: int) -> None:
        """Another stage of the group."""
        self.at += by
        self.show()

    def action_table(self) -> None:
        """The values of the curve as a table, or the curve again."""
        self.as_table = self.no_charts or not self.as_table
        self.show()

    def action_scroll_by(self, lines: int) -> None:
        """Scroll a line."""
        self._scrolled().scroll_relative(y=lines, animate=False, immediate=True)

    def action_scroll_page(self, pages: int) -> None:
        """Scroll a page."""
        view = self._scrolled()
        view.scroll_relative(y=pages * max(1, view.size.height - 2), animate=False, immediate=True)

    def _scrolled(self) -> Widget:
        return self.query_one("#table" if self.number == CURVES else "#audit")

    def action_leave(self) -> None:
        """Back to the list; counting stops."""
        self.workers.cancel_group(self, "audit")  # pyright: ignore[reportUnknownMemberType]  # workers of any kind
        self.dismiss(None)

    def action_export(self) -> None:
        """Write the page beside the store."""
        if self.made is not None:
            self.export(self.made)


def open_audit(board: Board) -> None:
    """Open the audit over the list."""
    if door := opened_door(board):
        board.app.push_screen(AuditScreen(board, door))
