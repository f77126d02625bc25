"""Which module each screen lies in that another opens by its name."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from textual.screen import Screen

SCREENS = {
    "BookingScreen": "tui.forms.booking",
    "ChartsScreen": "tui.charts",
    "CheckInScreen": "tui.forms.checkin",
    "ClearanceScreen": "tui.forms.clearance",
    "ContactScreen": "tui.forms.contact",
    "DecisionScreen": "tui.forms.decision",
    "DischargeScreen": "tui.forms.discharge",
    "EventScreen": "tui.forms.event",
    "FirstVisitScreen": "tui.forms.first_visit",
    "FlagOutcomeScreen": "tui.forms.flag_outcome",
    "HistoryScreen": "tui.history",
    "HoldScreen": "tui.forms.hold",
    "InHandScreen": "tui.forms.inhand",
    "ItemsScreen": "tui.forms.measures_items",
    "LetterScreen": "tui.forms.letter",
    "MeasuresScreen": "tui.forms.measures",
    "OrdersScreen": "tui.forms.orders",
    "PatientScreen": "tui.patient",
    "ProgrammeScreen": "tui.forms.programme",
    "RecordScreen": "tui.forms.record",
    "ReferScreen": "tui.forms.refer",
    "RegisterScreen": "tui.forms.register",
    "ReopenScreen": "tui.forms.reopen",
    "ReviewScreen": "tui.forms.review",
    "StepScreen": "tui.forms.step",
    "SupposeScreen": "tui.forms.suppose",
    "SweepDischarge": "tui.forms.sweep_forms",
    "SweepHold": "tui.forms.sweep_forms",
    "SweepPhone": "tui.forms.sweep_forms",
    "SweepRebook": "tui.forms.sweep_forms",
    "SweepRefer": "tui.forms.sweep_forms",
    "SweepSeen": "tui.forms.sweep_seen",
    "UndoScreen": "tui.forms.undo",
}
"""The names stay what they are: a form that was left unwritten is kept under the name of its screen."""


def screen_named(name: str) -> type[Screen[Any]] | None:
    """The screen of that name, imported now; None for a name that is not in the table."""
    module = SCREENS.get(name)
    return getattr(import_module(module), name) if module else None


def load_screens() -> None:
    """Import them all."""
    for module in SCREENS.values():
        import_module(module)
