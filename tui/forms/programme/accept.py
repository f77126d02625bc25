"""Accepting proposals: exactly what each would write, then all of it in one action."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.propose import proposals
from armrise.store.clinic.programme.proposal import Proposal
from armrise.store.record.case import CaseRecord
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.forms.programme.plan import accepted, change_words, writes_nothing
from armrise.tui.shell.door import Door
from armrise.tui.widgets.pieces import BLANK, Account, Piece


class AcceptScreen(FormScreen):
    """Writes the proposed dose of one exercise, or of all whose proposal changes something."""

    heading = "Accept a dose"
    write_label = "Write this"
    keys = "Enter, y or F2 write   Esc leave, nothing written   F8 blank"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "write", "Confirm", show=False, id="accept.confirm"),
    ]

    def __init__(self, door: Door, standing: Standing, exercises: Sequence[str] = ()) -> None:
        super().__init__(door, standing)
        self.exercises = tuple(exercises)
        self.found: list[Proposal] = []

    def rows(self) -> Iterable[Widget]:
        """The proposals with their reasons."""
        yield Account(id="reasons")

    def arrived(self, record: CaseRecord) -> None:
        """Work the proposals out from what is now on record."""
        made = proposals(View.of(record, self.door.rules, self.door.today))
        self.found = [p for p in made if p.item.exercise in self.exercises or not self.exercises]
        pieces: list[Piece] = []
        for found in self.found:
            pieces += [Piece(f"{found.item.exercise}: {found.line}", "strong"), Piece(found.reason, indent=2)]
            pieces += [Piece(found.condition, indent=2)] if found.condition else []
            pieces.append(BLANK)
        self.query_one("#reasons", Account).tell(pieces)
        self.query_one("#write").focus()

    def plan(self) -> Plan:
        """One new version an exercise."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        changing = [p for p in self.found if p.changes]
        if not changing:
            told = writes_nothing(self.found[0]) if len(self.found) == 1 else "No proposal changes anything."
            return Plan(nothing=told)
        told = [f"({change_words(p)})" for p in changing if p.dose is not None]
        return Plan([draft for p in changing for draft in accepted(p)], told)
