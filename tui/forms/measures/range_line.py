"""Ranges and strength on one line in a form: what is asked stands above it, what was understood below it."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.widgets import Input

from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.measures.range_line_parse import Asked, read, words
from armrise.tui.forms.measures.range_line_parse import Line as Typed
from armrise.tui.widgets.static import Static

METHODS = {"g": "goniometer", "i": "inclinometer", "e": "by eye"}
POSITIONS = {"s": "sitting", "l": "lying", "t": "standing"}
"""The key of a device and of a position."""
NOT_CHOSEN = ("", "")
"""The sides of a case that has not been read."""


class RangeLine(Line):
    """One line of values in a fixed order for both sides."""

    DEFAULT_CSS = """
    RangeLine .range-order { color: $text-muted; height: auto; padding: 0 2; }
    RangeLine .range-read { height: auto; display: none; padding: 0 0 0 2; }
    """
    hint = ". repeat  - not measured  d declined  x prohibited  90p pain  90g guarding"

    def __init__(self, title: str, asked: Sequence[Asked], sides: tuple[str, str], *, key: str) -> None:
        super().__init__(title, key=key, longest=80)
        self.title = title
        self.asked = tuple(asked)
        self.sides = sides

    def compose(self) -> ComposeResult:
        """The order, the line, what was understood."""
        yield Static(self.order(), classes="range-order", markup=False)
        yield from super().compose()
        yield Static("", classes="range-read", markup=False)

    def order(self) -> str:
        """Which values, in which order, in which unit."""
        units = dict.fromkeys(one.unit for one in self.asked if one.unit != "level")
        levels = "; back as T7, L3, sacrum" if any(one.is_level for one in self.asked) else ""
        return f"{self.title}, in {' and '.join(units)}{levels}: {', '.join(one.words for one in self.asked)}"

    def fit(self, asked: Sequence[Asked], sides: tuple[str, str], title: str = "") -> None:
        """The case has been read, or its side chosen."""
        self.asked, self.sides = tuple(asked), sides
        self.label = f"{title or self.title}, {sides[0]} | {sides[1]}" if sides[0] else title or self.title
        self.query_one(".range-order", Static).update(self.order())
        marker = ">" if self.has_focus_within else " "
        self.query_one(".line-label", Static).update(f"{marker} {self.label}")
        self.echo()

    @property
    def typed(self) -> Typed:
        """What the line says."""
        return read(self.value, self.asked, self.said_sides)

    @property
    def said_sides(self) -> tuple[str, str]:
        """The sides in words."""
        return self.sides if self.sides[0] else ("affected side", "other side")

    def echo(self) -> None:
        """Say back what was understood."""
        said = words(self.typed, self.asked, self.said_sides)
        shown = self.query_one(".range-read", Static)
        shown.update("\n".join(said))
        shown.display = bool(said)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Understood as it is typed; faults wait for Enter."""
        self.echo()

    def submitted(self) -> None:
        """A value that is refused stays and is marked."""
        if faults := self.typed.faults:
            self.fault = "\n    ! ".join(faults)
        else:
            super().submitted()
