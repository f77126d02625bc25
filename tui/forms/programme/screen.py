"""The home programme: each exercise with its dose, and under it the dose proposed and why."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.healing.fit import fits
from armrise.store.clinic.programme.proposal import HOLD, Proposal
from armrise.store.record.case import CaseRecord
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.cursorlist import CursorList
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.programme.accept import AcceptScreen
from armrise.tui.forms.programme.dose import DoseScreen
from armrise.tui.forms.programme.plan import accept_words, home_words, writes_nothing
from armrise.tui.forms.programme.small import HomeLoadsScreen, StopItemScreen
from armrise.tui.forms.programme.view import (
    allowed_words,
    bare_block,
    catalogue_blocks,
    item_block,
    nothing_yet,
)
from armrise.tui.shell.door import Door
from armrise.tui.widgets.static import Static

CLOSED = "is closed: nothing is proposed, and a dose is set after it is reopened."
NO_ITEM = "No exercise is under the cursor: n adds one."


class CatalogueScreen(FormScreen):
    """The exercises used daily: those that fit today first, the others apart. Choosing one opens its dose."""

    heading = "Add an exercise"
    keys = "Up Down move   Enter choose   Esc back   F8 blank"

    def rows(self) -> Iterable[Widget]:
        """The catalogue."""
        yield CursorList(key="catalogue")

    def on_mount(self) -> None:
        """Nothing is written from here."""
        super().on_mount()
        self.query_one("#write").display = False
        self.query_one("#form-plan").display = False
        self.query_one("#catalogue").focus()

    def lead(self) -> str:
        """What may be done today where tissue heals."""
        return allowed_words(View.of(self.record, self.door.rules, self.door.today)) if self.record else ""

    def arrived(self, record: CaseRecord) -> None:
        """Sort the catalogue by what fits."""
        view = View.of(record, self.door.rules, self.door.today)
        taken = [i.exercise for i in in_force(view)]
        where = (
            f"{view.stage.code} {view.stage.name}" if view.span and view.stage else "a case not placed yet"
        )
        blocks = catalogue_blocks(fits(view, self.door.rules.exercises), taken, where)
        self.query_one("#catalogue", CursorList).hold(blocks)

    def on_cursor_list_chosen(self) -> None:
        """Hand the name over."""
        self.dismiss(self.query_one("#catalogue", CursorList).at)

    def action_write(self) -> None:
        """F2 chooses like Enter."""
        self.query_one("#catalogue", CursorList).action_choose()


class ProgrammeScreen(FormScreen):
    """Lists the items in force. Nothing changes but by a key, and each key shows first what it writes."""

    heading = "Home programme"
    verb = "a writes"
    keys = (
        "a accept   A accept all   e change   n add   X take out   w weights at home\n"
        "Up Down move   Esc back   F8 blank"
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "accept", "Accept the proposal", id="programme.accept"),
        Binding("A", "accept_all", "Accept all that change something", id="programme.accept_all"),
        Binding("e", "change", "Change the dose", id="programme.change"),
        Binding("n", "add", "Add an exercise", id="programme.add"),
        Binding("X", "take_out", "Take an exercise out", id="programme.take_out"),
        Binding("w", "home", "Weights at home", id="programme.home"),
    ]

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self.found: list[Proposal] = []
        self.places: list[str] = []
        self.wrote: list[str] = []

    def lead(self) -> str:
        """What is at home; what may be done today where tissue heals."""
        if self.record is None:
            return "Reading the case ..."
        view = View.of(self.record, self.door.rules, self.door.today)
        if view.closed:
            return f"{self.standing.code} {CLOSED}"
        return "\n".join(w for w in (allowed_words(view), home_words(newest(self.record.home_loads))) if w)

    def rows(self) -> Iterable[Widget]:
        """The items."""
        yield CursorList(key="items")

    def below(self) -> Iterable[Widget]:
        """What was written from here."""
        yield Static("", id="written", markup=False)

    def on_mount(self) -> None:
        """The list has the focus; the writing is done by its own forms."""
        super().on_mount()
        self.query_one("#write").display = False
        self.query_one("#written").display = False
        self.query_one("#items").focus()

    def arrived(self, record: CaseRecord) -> None:
        """Work out the proposals, and show them. While the screen is open each item stays in its place."""
        view = View.of(record, self.door.rules, self.door.today)
        self.found = sorted(proposals(view), key=self.place)
        self.places = [found.item.exercise for found in self.found]
        blocks = [item_block(found, view.today) for found in self.found]
        if view.closed:
            blocks = [bare_block(item) for item in in_force(view)]
        elif not blocks:
            blocks = [nothing_yet(view, fits(view, self.door.rules.exercises))]
        self.query_one("#items", CursorList).hold(blocks)

    def place(self, found: Proposal) -> tuple[int, bool, bool]:
        """Where it stood; at first what changes something comes before the rest, and HOLD last."""
        name = found.item.exercise
        before = self.places.index(name) if name in self.places else len(self.places)
        return before, not found.changes, found.word == HOLD

    @property
    def chosen(self) -> Proposal | None:
        """The proposal under the cursor."""
        at = self.query_one("#items", CursorList).at
        return next((p for p in self.found if p.item.exercise == at), None)

    def plan(self) -> Plan:
        """What accepting the proposal under the cursor would write."""
        chosen = self.chosen
        if self.record is None or chosen is None:
            return Plan(nothing="")
        if not chosen.changes:
            return Plan(nothing=writes_nothing(chosen))
        return Plan(then=[accept_words(chosen, self.door.today, self.door.author)])

    def on_cursor_list_moved(self) -> None:
        """Say what the item under the cursor would get."""
        self.tell_written("")
        self.show_plan()

    def on_cursor_list_chosen(self) -> None:
        """Enter accepts."""
        self.action_accept()

    def action_write(self) -> None:
        """F2 accepts."""
        self.action_accept()

    def action_accept(self) -> None:
        """Open what accepting would write, or say why nothing is written."""
        chosen = self.chosen
        if chosen is None:
            self.no_item()
        elif chosen.changes:
            self.open(AcceptScreen(self.door, self.standing, [chosen.item.exercise]))
        else:
            self.tell_written("Nothing was written.")

    def action_accept_all(self) -> None:
        """The same for every proposal that changes something."""
        changing = [p.item.exercise for p in self.found if p.changes]
        if changing:
            self.open(AcceptScreen(self.door, self.standing, changing))
        else:
            self.tell_written("No proposal changes anything: nothing to write.")

    def action_change(self) -> None:
        """Type the dose of the item under the cursor."""
        if self.chosen is None:
            self.no_item()
        else:
            self.open(DoseScreen(self.door, self.standing, self.chosen.item.exercise))

    def action_take_out(self) -> None:
        """Take the item under the cursor out."""
        if self.chosen is None:
            self.no_item()
        else:
            self.open(StopItemScreen(self.door, self.standing, self.chosen.item.exercise))

    def no_item(self) -> None:
        """Say why this key has nothing to be about."""
        closed = self.standing.status == "closed"
        self.tell_written(f"{self.standing.code} {CLOSED}" if closed else NO_ITEM)

    def action_home(self) -> None:
        """What is at home to train with."""
        self.open(HomeLoadsScreen(self.door, self.standing))

    def action_add(self) -> None:
        """Choose from the catalogue, then type the dose."""

        def picked(name: str | None) -> None:
            if name:
                self.open(DoseScreen(self.door, self.standing, name))

        self.open(CatalogueScreen(self.door, self.standing), picked)

    def open(self, screen: FormScreen, then: Any = None) -> None:
        """Open a form of this case, unless it is closed or still being read."""
        if self.record is None:
            return
        if self.standing.status == "closed":
            self.tell_written(f"{self.standing.code} {CLOSED}")
            return
        self.app.push_screen(screen, then or self.came_back)

    def came_back(self, words: str | None) -> None:
        """Something was written: read again, and say it."""
        if words:
            self.wrote.append(words)
            self.tell_written(words)
            self.read()

    def tell_written(self, words: str) -> None:
        """One line about what was written, or why nothing was."""
        line = self.query_one("#written", Static)
        line.update(words)
        line.display = bool(words)

    def action_leave(self) -> None:
        """Back, with what was written."""
        self.dismiss(" ".join(self.wrote) or None)
