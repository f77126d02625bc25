"""Draws a page: imported when a chart is shown, because the drawing library brings a large one along."""

from __future__ import annotations

from collections.abc import Sequence

from rich.segment import Segment
from rich.style import Style
from textual.app import ComposeResult
from textual.containers import Grid
from textual.strip import Strip
from textual_hires_canvas import Canvas
from textual_plot import AxisFormatter, HiResMode, PlotWidget
from textual_plot.plot_widget import Legend

from armrise.tui.charts.page import DASHES, DOTS, SOLID, Page, Stroke
from armrise.tui.charts.texts import Room, shaded, written
from armrise.tui.shell.frame import frame_of
from armrise.tui.widgets.painted import Brush

LEFT = 6
"""Cells left of the chart, for the numbers of its axis."""
PATTERN = {DASHES: (6, 4), DOTS: (1, 3)}
"""Dots drawn and left out along a line, in the fine dots of which a cell has two across."""


class Words(AxisFormatter):
    """Ticks with the words they were given."""

    def __init__(self, told: dict[float, str]) -> None:
        self.told = told

    def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
        return list(self.told)

    def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
        return [self.told.get(tick, f"{tick:g}") for tick in ticks]


class Sheet(Canvas):
    """The library's canvas, every piece with a style: one without cannot be shown where colours are off."""

    def render_line(self, y: int) -> Strip:
        strip = super().render_line(y)
        pieces = [Segment(text, style or Style.null()) for text, style, _ in strip if text]
        return Strip(pieces, strip.cell_length)


class Plot(Brush, PlotWidget):
    """A page drawn in the styles of the theme; it takes no key."""

    can_focus = False

    def __init__(self) -> None:
        super().__init__(allow_pan_and_zoom=False)
        self.page: Page | None = None

    def compose(self) -> ComposeResult:
        """The parts of the library's own widget by the names it finds them by."""
        with Grid():
            for name in ("margin-top", "margin-left", "plot", "margin-bottom"):
                yield Sheet(1, 1, id=name)
        yield Legend(id="legend")

    def on_mount(self) -> None:
        """Little room for margins: title, legend and notes are text beside the chart."""
        self.margin_left, self.margin_top, self.margin_bottom = LEFT, 0, 1

    def on_resize(self) -> None:
        """Dashes and dates depend on the width."""
        self.draw(self.page)

    @property
    def cells(self) -> int:
        """Cells across the chart itself."""
        return max(2, self.size.width - LEFT - 2)

    def draw(self, page: Page | None) -> None:
        self.page = page
        if page is None or not self.size.width:
            return
        self.clear()
        self.set_ylimits(page.low, page.high)
        room = Room(page, self.cells, self._rows)
        ticks = dict(page.days.ticks(room.column(page.days.end)))
        self.set_x_formatter(Words(ticks))
        self.set_xticks(list(ticks))
        self.set_yticks(list(page.ticks))
        if page.tick_words:
            self.set_y_formatter(Words(dict(page.tick_words)))
        self.set_xlimits(0, room.right)
        for char, places in shaded(room):
            self._scatter(places, char, "muted")
        for stroke in page.strokes:
            self._stroke(stroke)
        for text in written(room):
            for n, char in enumerate(text.words):
                self._scatter([room.at(text.column + n, text.row)], char, text.style)
        for marks in page.marks:
            self._scatter(list(zip(marks.xs, marks.ys, strict=True)), marks.char, marks.style)

    def _scatter(self, places: Sequence[tuple[float, float]], char: str, style: str) -> None:
        if places:
            xs, ys = zip(*places, strict=True)
            self.scatter(xs, ys, marker=char, marker_style=self._ink(style))

    def _stroke(self, stroke: Stroke) -> None:
        if len(stroke.xs) < 2:
            return
        ys = [y + self._lift for y in stroke.ys]
        if stroke.kind == SOLID:
            self.plot(stroke.xs, ys, line_style=self._ink(stroke.style), hires_mode=HiResMode.BRAILLE)
        else:
            xs = self._pattern(stroke)
            level, ink = [ys[0]] * len(xs), self._ink(stroke.style)
            self.scatter(xs, level, marker_style=ink, hires_mode=HiResMode.BRAILLE)

    @property
    def _lift(self) -> float:
        """What keeps a fine line on the border of two rows in the row in which a mark of its value stands."""
        assert self.page is not None
        return 0.05 * (self.page.high - self.page.low) / self._rows

    @property
    def _rows(self) -> int:
        """Rows inside the frame."""
        return max(1, self.size.height - 3)

    def _pattern(self, stroke: Stroke) -> list[float]:
        """Where along a level line a dot is drawn."""
        assert self.page is not None
        on, off = PATTERN[stroke.kind]
        dot = Room(self.page, self.cells, self._rows).right / (2 * self.cells)
        count = int((stroke.xs[-1] - stroke.xs[0]) / dot)
        return [stroke.xs[0] + n * dot for n in range(count) if n % (on + off) < on]

    def _ink(self, style: str) -> str:
        """A style of the theme in words, as the drawing library wants it."""
        found = self.named(style)
        colour = found.color.name if found.color else frame_of(self).theme_variables["foreground"]
        return f"{'bold ' if found.bold else ''}{colour}"
