"""The forms that were left unwritten: of which case, which form, since when; Enter opens the form."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import OptionList

from armrise.store.record.words import time_words
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.plan import sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.rowlist import RowList
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import ago, day
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.desk import Waiting

NONE = "No form waits unwritten."


class UnwrittenScreen(Framed, Screen[str | None]):
    """Dismissed with what was written from here, or None."""

    READING: ClassVar[tuple[str, ...]] = (
        "A form left with something typed, by Esc or as the program ended, waits here until you decide.",
        "Enter opens the form; F5 there brings back what was typed, F6 forgets it.",
        "Nothing is written by itself.",
        "Only forms under your own initials are shown.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "to the list", id="unwritten.leave"),
    ]

    def compose(self) -> ComposeResult:
        """Head, rows, keys."""
        with Vertical(id="waiting"):
            yield Static(self.head(), id="waiting-head", markup=False)
            yield RowList(key="rows")
            yield Static("", id="waiting-says", markup=False)
            yield Static(hinted("Enter opens the form   Esc the list   ? help   x blank"), id="waiting-keys")

    def head(self) -> str:
        """What this is, and that the caseload is invented when it is."""
        return f"Forms not written   {FICTIONAL}" if self.app.fictional else "Forms not written"

    def on_mount(self) -> None:
        """Read what waits."""
        self.waiting: list[Waiting] = []
        self.read()

    @work(thread=True, group="reading", exclusive=True)
    def read(self) -> None:
        """In a thread."""
        try:
            waiting = self.app.open_door.unwritten()
        except Exception as error:
            self.app.call_from_thread(self.tell, sentence(error))
            return
        self.app.call_from_thread(self.show, waiting)

    def show(self, waiting: list[Waiting]) -> None:
        """One row a form."""
        today = self.app.open_door.today
        self.waiting = waiting
        self.query_one(RowList).tell([(str(n), self.row(form, today)) for n, form in enumerate(waiting)])
        self.query_one(RowList).focus()
        self.tell("" if waiting else NONE)

    def row(self, form: Waiting, today: date) -> str:
        """One form: the case, the form, and when it was last typed in."""
        when = f"{day(form.at.date())} {time_words(form.at)}, {ago(form.at.date(), today)}"
        screen = self.app.screen_named(form.form.partition(":")[0])
        return f"{form.code or 'new case':<10} {title(form.form, screen):<28} typed {when}"

    def tell(self, words: str) -> None:
        """A sentence under the rows."""
        self.query_one("#waiting-says", Static).update(words)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Open the form of that row."""
        event.stop()
        self.open(self.waiting[event.option_index])

    @work(thread=True, group="opening", exclusive=True)
    def open(self, form: Waiting) -> None:
        """Read the case, then show its form."""
        try:
            standing = self.app.open_door.standing(form.code) if form.code else None
        except Exception as error:
            self.app.call_from_thread(self.tell, sentence(error))
            return
        self.app.call_from_thread(self.push, form, standing)

    def push(self, form: Waiting, standing: Standing | None) -> None:
        """Show the form; afterwards what still waits."""
        name, _, about = form.form.partition(":")
        made = self.app.screen_named(name)
        if made is None or not issubclass(made, FormScreen):
            say(self, "This form is opened where it was begun: in the case, with the same key as before.")
            return
        # the form of a case that is not registered yet takes no standing
        screen = made.again(self.app.open_door, cast("Standing", standing), about)

        async def done(_: str | None) -> None:
            await screen.put_away_done()
            self.read()

        self.app.push_screen(screen, done)

    def action_leave(self) -> None:
        """Back to the list."""
        self.dismiss(None)


def title(form: str, screen: type[Screen[Any]] | None) -> str:
    """A form in words: the heading of its screen, and what it is about."""
    name, _, about = form.partition(":")
    heading: object = getattr(screen, "heading", "")  # a property where it depends on the case
    told = heading if isinstance(heading, str) and heading else _spelled(name)
    return f"{told}, {about}" if about else told


def _spelled(name: str) -> str:
    """A class name as words: "StepScreen" is "Step"."""
    spaced = "".join(f" {c.lower()}" if c.isupper() else c for c in name.removesuffix("Screen"))
    return spaced.strip().capitalize()
