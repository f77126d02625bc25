"""A line of free text in a form."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input

from armrise.tui.forms.kit.fields import Changed, go_on, passed_on
from armrise.tui.widgets.static import Static


class Text(Input):
    """The text of a line. Enter is the line's at once: as a binding it would come after keys typed later."""

    @property
    def selected_text(self) -> str:
        """What may be copied or cut: nothing of a text that shows no letters."""
        return "" if self.password else super().selected_text

    async def _on_key(self, event: events.Key) -> None:
        if passed_on(self, event):
            return
        line = self.parent.parent if self.parent else None
        if event.key == "enter" and isinstance(line, Line):
            event.stop()
            event.prevent_default()
            line.submitted()
        elif isinstance(line, Line) and event.character and line.takes(event.character):
            event.stop()
            event.prevent_default()
        else:
            await super()._on_key(event)


class Line(Vertical):
    """A label and a line of free text."""

    DEFAULT_CSS = """
    Line { height: auto; width: 1fr; }
    Line Horizontal { height: 1; }
    Line .line-label { width: 28; }
    Line Input { width: 1fr; }
    Line Input:focus { background: $boost; text-style: none; }
    Line .line-beside { width: auto; color: $text-muted; padding-left: 1; }
    Line .line-fault { display: none; height: auto; }
    Line .line-fault.-fault { color: $text-error; text-style: bold; }
    """
    hint = "type; Enter goes on"
    warns = False
    """True where a text that looks as if it names a person is warned about."""

    def __init__(
        self,
        label: str,
        *,
        value: str = "",
        longest: int = 200,
        beside: str = "",
        secret: bool = False,
        key: str,
    ) -> None:
        super().__init__(id=key)
        self._secret = secret
        self.label = label
        self._first = value
        self._beside = beside
        self.longest = longest
        self._fault = ""
        self._warning = ""

    def compose(self) -> ComposeResult:
        """Label, text, what is beside it, and the fault under it."""
        with Horizontal():
            yield Static(f"  {self.label}", classes="line-label", markup=False)
            text = Text(
                self._first,
                compact=True,
                max_length=self.longest,
                select_on_focus=True,
                password=self._secret,
            )
            text.cursor_blink = False
            yield text
            yield Static(self._beside, classes="line-beside", markup=False)
        yield Static("", classes="line-fault", markup=False)

    @property
    def input(self) -> Input:
        """The text itself."""
        return self.query_one(Input)

    @property
    def value(self) -> str:
        """What was typed, without blanks around it."""
        return self.input.value.strip()

    def kept_text(self) -> str:
        """What has to be kept so that an unwritten form can be brought back: with its blanks."""
        return self.input.value

    def begin_with(self, text: str) -> None:
        """Hold a text to begin with where nothing was typed; the first key typed replaces it."""
        if text and not self.value:
            self.input.value = text
            if self.input.has_focus:
                self.input.select_all()

    def put_back(self, text: str, fault: str = "") -> None:
        """Hold again what was kept, marked as it was."""
        with self.prevent(Input.Changed):
            self.input.value = text
        self.fault = fault
        self.post_message(Changed())

    @property
    def fault(self) -> str:
        """The sentence under the line."""
        return self._fault

    @fault.setter
    def fault(self, sentence: str) -> None:
        self._fault = sentence
        self.show_under()

    def warn(self, sentence: str) -> None:
        """Say something under the line that stops nothing."""
        self._warning = sentence
        self.show_under()

    def show_under(self) -> None:
        """The fault, else the warning, else nothing."""
        under = self.query_one(".line-fault", Static)
        under.set_class(bool(self._fault), "-fault")
        under.update(f"    ! {self._fault}" if self._fault else f"    note: {self._warning}")
        under.display = bool(self._fault or self._warning)
        if under.display and self.has_focus_within:
            # On the last row in sight it would stand below the edge.
            self.call_after_refresh(self.scroll_visible, animate=False)

    def relabel(self, label: str) -> None:
        """Change the label: what is asked hangs on the case."""
        self.label = label
        self.query_one(".line-label", Static).update(f"{'>' if self.has_focus_within else ' '} {label}")

    def say_beside(self, words: str) -> None:
        """Change what stands beside the text."""
        self.query_one(".line-beside", Static).update(words)

    def focus(self, scroll_visible: bool = True) -> Line:
        """The text takes the focus."""
        self.input.focus(scroll_visible)
        return self

    def on_descendant_focus(self) -> None:
        """Draw the marker."""
        self.query_one(".line-label", Static).update(f"> {self.label}")

    def on_descendant_blur(self) -> None:
        """Take the marker away."""
        self.query_one(".line-label", Static).update(f"  {self.label}")

    def on_input_changed(self, event: Input.Changed) -> None:
        """Tell the screen; a changed text is no longer at fault."""
        event.stop()
        if self._fault:
            self.fault = ""
        self.post_message(Changed())

    def takes(self, character: str) -> bool:
        """True where a key is an answer by itself and no letter of the text."""
        return False

    def submitted(self) -> None:
        """Enter goes on."""
        go_on(self)


class JudgedLine(Line):
    """A line that its form reads as it is typed: Enter does not leave one that is refused."""

    refusal = ""
    """Why the line is not taken as it stands."""

    def submitted(self) -> None:
        """A line that is refused stays and is marked."""
        if self.refusal:
            self.fault = self.refusal
            self.post_message(Changed())
        else:
            super().submitted()
