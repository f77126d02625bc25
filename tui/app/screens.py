"""Which module each screen lies in that is opened by its name: by a key, or as a form left unwritten."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from textual.screen import Screen

SCREENS = {
    "BookingScreen": "armrise.tui.forms.decisions.booking",
    "ChartsScreen": "armrise.tui.charts.screen",
    "CheckInScreen": "armrise.tui.forms.visit.checkin",
    "ClearanceScreen": "armrise.tui.forms.decisions.clearance",
    "ContactScreen": "armrise.tui.forms.visit.contact",
    "CorrectScreen": "armrise.tui.forms.kit.correct",
    "DecisionScreen": "armrise.tui.forms.decisions.decision",
    "DiaryScreen": "armrise.tui.forms.visit.diary",
    "DischargeScreen": "armrise.tui.forms.decisions.discharge",
    "DoseScreen": "armrise.tui.forms.programme.dose",
    "EntryScreen": "armrise.tui.forms.kit.entry",
    "EventScreen": "armrise.tui.forms.decisions.event",
    "FirstVisitScreen": "armrise.tui.forms.first_visit.screen",
    "FlagOutcomeScreen": "armrise.tui.forms.decisions.flag_outcome",
    "ForRecordScreen": "armrise.tui.case.opened",
    "HistoryScreen": "armrise.tui.case.history",
    "HoldScreen": "armrise.tui.forms.decisions.hold",
    "HomeLoadsScreen": "armrise.tui.forms.programme.small",
    "InHandScreen": "armrise.tui.forms.decisions.inhand",
    "ItemsScreen": "armrise.tui.forms.measures.items",
    "LetterScreen": "armrise.tui.forms.decisions.letter",
    "LetterTextScreen": "armrise.tui.forms.decisions.letter_text",
    "MeasuresScreen": "armrise.tui.forms.measures.screen",
    "OrdersScreen": "armrise.tui.forms.decisions.orders",
    "PatientScreen": "armrise.tui.case.patient",
    "ProgrammeScreen": "armrise.tui.forms.programme.screen",
    "RecordScreen": "armrise.tui.case.record",
    "ReferScreen": "armrise.tui.forms.decisions.refer",
    "RegisterScreen": "armrise.tui.forms.visit.register",
    "ReopenScreen": "armrise.tui.forms.decisions.reopen",
    "ReviewScreen": "armrise.tui.forms.visit.review",
    "StepScreen": "armrise.tui.forms.decisions.step",
    "StopItemScreen": "armrise.tui.forms.programme.small",
    "SupposeScreen": "armrise.tui.forms.suppose.screen",
    "SweepDischarge": "armrise.tui.forms.sweep.forms",
    "SweepHold": "armrise.tui.forms.sweep.forms",
    "SweepPhone": "armrise.tui.forms.sweep.forms",
    "SweepRebook": "armrise.tui.forms.sweep.forms",
    "SweepRefer": "armrise.tui.forms.sweep.forms",
    "SweepSeen": "armrise.tui.forms.sweep.seen",
    "UndoScreen": "armrise.tui.forms.decisions.undo",
}
"""The names stay what they are: a form that was left unwritten is kept under the name of its screen."""
OF_EVERY_DAY = ("ForRecordScreen", "CheckInScreen", "ContactScreen", "ReviewScreen")
"""The case itself, and what is written most: imported before anybody asks for them."""


def screen_named(name: str) -> type[Screen[Any]] | None:
    """The screen of that name, imported now; None for a name that is not in the table."""
    module = SCREENS.get(name)
    return getattr(import_module(module), name) if module else None


def load_screens() -> None:
    """Import those of every day: any other is there within a few milliseconds, once these are."""
    for name in OF_EVERY_DAY:
        import_module(SCREENS[name])
