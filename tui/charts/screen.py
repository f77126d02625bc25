"""A case over time: one chart a page, the same values as a table one key away."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import Screen

from armrise.tui.charts.drawing import LEFT
from armrise.tui.charts.page import LETTERS, Page, tabled
from armrise.tui.charts.plot import Plot
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.widgets.bars import KeyBar
from armrise.tui.widgets.painted import Painted, ascii_terminal, plain_scroll_bar, pushed_apart
from armrise.tui.widgets.pieces import Account, Piece
from armrise.tui.widgets.rows import Line, Span
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.clinic.case.view import View
    from armrise.tui.shell.door import Door

PAIN, RANGE, SCORE, STRENGTH, BASELINE = range(1, 6)
NAMES = {PAIN: "pain", RANGE: "range", SCORE: "score", STRENGTH: "strength", BASELINE: "usual morning"}
PARTED = (RANGE, SCORE, STRENGTH)
"""Pages with several charts, one at a time: movements, questionnaires, tests."""
NO_CHARTS = "This terminal shows no charts: these are the same values."
LOW = 30
"""Rows of a window below which an axis follows its values closely."""
CELLS_A_DAY, LEAST_DAYS = 3, 21
"""Room for during, later and next morning side by side."""


class TableText(Account):
    """The table of a page, scrolled."""

    page: Page | None = None

    def laid_out(self, width: int) -> list[Line]:
        if self.page is None:
            return []
        lines = tabled(self.page.columns, self.page.rows, width)
        clean = words.cleaner(ascii_only=ascii_terminal())
        return [[Span(clean(s.text), s.style) for s in line] for line in lines]


class AboveRows(Painted):
    """Stages and flare days over the chart, each above its day."""

    page: Page | None = None

    def laid_out(self, width: int) -> list[Line]:
        """One line a row; a word that would run into the one before is cut there."""
        if self.page is None:
            return []
        room = width - LEFT - 2
        lines: list[Line] = []
        for number, row in enumerate(self.page.above):
            text = ""
            for word in sorted(row, key=lambda w: w.x):
                at = LEFT + 1 + int(word.x / self.page.days.end * room)
                text = text[:at].ljust(at) + word.text
            lines.append([Span(text[:width], "strong" if number else "muted")])
        return lines


class ChartsScreen(Framed, Screen[None]):
    """Pages chosen by their digit; arrows choose the movement, the questionnaire or the test."""

    READING: ClassVar[tuple[str, ...]] = (
        "One chart a page, chosen by its digit; arrows choose the movement, the questionnaire or the test.",
        "T turns the chart into a table of the same values. A gap is a day without a value, never a zero.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss", "back", id="charts.leave"),
        *(Binding(str(n), f"page({n})", NAMES[n], show=False, id=f"charts.page_{n}") for n in NAMES),
        Binding("T", "table", "table or chart", id="charts.table"),
        Binding("right,l", "part(1)", "next chart", id="charts.next_part"),
        Binding("left,h", "part(-1)", "chart before", id="charts.previous_part"),
        Binding("a", "all_days", "all days or the last", id="charts.all_days"),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="charts.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="charts.up"),
    ]

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__()
        self.door = door
        self.code = standing.code
        self.side = standing.side
        self.number = PAIN
        self.parts: dict[int, int | None] = dict.fromkeys(PARTED)
        self.as_table = self.no_charts = ascii_terminal()
        self.every_day = False

    def compose(self) -> ComposeResult:
        yield Painted(id="charts-head")
        yield Account(id="charts-legend")
        with Vertical(id="chart"):
            yield AboveRows(id="above")
            yield Plot(id="plot")
        with VerticalScroll(id="table", can_focus=False):
            yield TableText(id="table-text")
        yield Account(id="charts-notes")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        plain_scroll_bar(self.query_one("#table"))
        self._say_head()
        self.query_one("#charts-legend", Account).tell([Piece("Reading the record ...", "muted")])
        self.update()

    def on_resize(self) -> None:
        """How many days are shown depends on the width."""
        self.update()

    def update(self) -> None:
        """Read again and show the page."""
        self.read(self.size.width or 80)

    @work(thread=True, group="charts", exclusive=True)
    def read(self, width: int) -> None:
        """Work the page out beside the screen."""
        from armrise.store.clinic.case.view import View

        try:
            view = View.of(self.door.record(self.code), self.door.rules, self.door.today)
            page = self._page(view, width)
        except Exception as error:
            self.app.call_from_thread(self._failed, in_a_sentence(error))
            return
        self.app.call_from_thread(self._show, page)

    def _page(self, view: View, width: int) -> Page:
        if self.number in (PAIN, BASELINE):
            from armrise.tui.charts.pain import baseline_page, pain_page, window

            most = None if self.every_day else max(LEAST_DAYS, int((width - 8) / LETTERS) // CELLS_A_DAY)
            kind = pain_page if self.number == PAIN else baseline_page
            return kind(view, window(view, most))
        names = self._names(view)
        at = self.parts[self.number]
        chosen = self._first(view, names) if at is None else at % len(names)
        self.parts[self.number] = chosen
        page = self._part_page(view, names[chosen], self.size.height < LOW)
        return replace(page, title=f"{page.title} ({chosen + 1} of {len(names)})") if names[1:] else page

    def _names(self, view: View) -> list[str]:
        """The charts of a parted page."""
        from armrise.store.clinic.series import scores as series_scores
        from armrise.store.clinic.series import series

        if self.number == RANGE:
            return list(series.RANGE)
        return series.strengths(view) if self.number == STRENGTH else series_scores.instruments(view)

    def _first(self, view: View, names: list[str]) -> int:
        """What to show first: the movement that is being lost, if one is."""
        from armrise.store.clinic.motion.drift import drift

        state = drift(view) if self.number == RANGE else None
        return names.index(state.plane) if state and state.plane in names else 0

    def _part_page(self, view: View, name: str, low_window: bool) -> Page:
        from armrise.tui.charts.range import range_page, strength_page
        from armrise.tui.charts.score import score_page

        if self.number == STRENGTH:
            return strength_page(view, name)
        return (range_page if self.number == RANGE else score_page)(view, name, low_window=low_window)

    # showing

    def _failed(self, told: str) -> None:
        self.query_one("#charts-legend", Account).tell([Piece(f"The charts cannot be shown: {told}")])

    def _show(self, page: Page) -> None:
        if not self.is_attached:
            return
        self._say_head()
        table = self.as_table and bool(page.rows)
        drawn = not table and not page.empty
        self.query_one("#chart").display = drawn
        self.query_one("#table").display = table
        self.query_one("#charts-legend", Account).tell(self._legend(page, table))
        self.query_one("#charts-notes", Account).tell([Piece(n) for n in page.notes if not page.empty])
        text = self.query_one("#table-text", TableText)
        text.page = page
        text.refresh(layout=True)
        if drawn:
            self._draw(page)

    def _legend(self, page: Page, table: bool) -> list[Piece]:
        pieces = [Piece(page.title, "strong")]
        if table:
            return [*pieces, *([Piece(NO_CHARTS, "muted")] if self.no_charts else [])]
        if page.empty:
            return [*pieces, Piece(page.empty)]
        return [*pieces, Piece(page.legend)]

    def _draw(self, page: Page) -> None:
        above = self.query_one("#above", AboveRows)
        above.page = page
        above.styles.height = len(page.above)
        above.display = bool(page.above)
        above.refresh()
        self.query_one(Plot).draw(page)

    def _say_head(self) -> None:
        tabs = [
            Span(
                f"[{n} {name}]" if n == self.number else f" {n} {name} ", "strong" if n == self.number else ""
            )
            for n, name in NAMES.items()
        ]
        right = [Span(f"{words.FICTIONAL} ", "strong")] if self.app.fictional else []
        case = pushed_apart([Span(f" {self.code} {self.side}", "strong")], right, self.size.width or 80)
        self.query_one("#charts-head", Painted).show([case, [Span(" "), *tabs]])

    # keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Arrows where a page has several charts, all days where it shows the last ones."""
        if action == "part":
            return self.number in PARTED
        return self.number not in PARTED if action == "all_days" else True

    def action_page(self, number: int) -> None:
        self.number = number
        self.refresh_bindings()
        self.query_one(KeyBar).refresh()
        self.update()

    def action_part(self, by: int) -> None:
        """Another movement, questionnaire or test."""
        if self.number in PARTED:
            self.parts[self.number] = (self.parts[self.number] or 0) + by
            self.update()

    def action_table(self) -> None:
        """The same values as a table, or the chart again."""
        self.as_table = self.no_charts or not self.as_table
        self.update()

    def action_all_days(self) -> None:
        """Every day on record, or the last that fit."""
        self.every_day = not self.every_day
        self.update()

    def action_scroll_by(self, lines: int) -> None:
        self.query_one("#table").scroll_relative(y=lines, animate=False)
